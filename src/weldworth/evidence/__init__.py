"""What was seen, measured and answered: observations, never conclusions. Append-only; a correction supersedes."""

from weldworth.evidence.records import Answer, Finding, Reading, Record, standing

__all__ = ["Answer", "Finding", "Reading", "Record", "standing"]
