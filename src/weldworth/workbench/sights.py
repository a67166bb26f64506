"""From what the machine saw on the pictures to evidence about zones: whose word counts, and what has to be remarked on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from weldworth.evidence.pictures import Shown
from weldworth.evidence.records import Finding
from weldworth.workbench.ports import Seen, Sight

SUGGESTED, ACCEPTED, OVERRULED, DISMISSED = "suggested", "accepted", "overruled", "dismissed"
UNTOLD, OLD = "beauty-picture", "old-picture"
"""How a picture is taken to have come where nobody said."""


@dataclass(frozen=True)
class Spoken:
    """What people said of one zone on one picture. kinds : sign -> its kind (clean, rust, ...)."""

    findings: tuple[Finding, ...]
    kinds: Mapping[str, str]

    def of(self, sign: str) -> Finding | None:
        """The finding that replaces the machine's word on this sign: of the same sign, or of clean metal."""
        same = [finding for finding in self.findings if finding.sign == sign]
        clean = [f for f in self.findings if self.kinds.get(f.sign) == "clean" and not f.absent]
        found = same or clean
        return found[-1] if found else None

    @property
    def silences(self) -> bool:
        """Whether the machine's silence says nothing any more: a person saw rust there, or a cover."""
        return any(self.kinds.get(f.sign) in ("rust", "cover", "coat") and not f.absent for f in self.findings)


def spoken_of(findings: Iterable[Finding], picture: str, zone: str, kinds: Mapping[str, str]) -> Spoken:
    """What people said of this zone on this picture. kinds : sign -> its kind."""
    return Spoken(tuple(f for f in findings if f.picture == picture and f.zone == zone), kinds)


def state_of(sign: str, zone: str, spoken: Spoken, shown: Shown) -> tuple[str, Finding | None]:
    """What became of a suggestion (suggested, accepted, overruled, dismissed), and the finding that decided it."""
    finding = spoken.of(sign)
    if finding is not None:
        return (ACCEPTED if finding.sign == sign and not finding.absent else OVERRULED), finding
    return (DISMISSED if shown.is_dismissed(sign, zone) else SUGGESTED), None


def source_of(shown: Shown, seen: Seen | None, today: date, after_years: float) -> str:
    """How the picture came: as told, else an old picture where it was taken over `after_years` ago, else the seller's own."""
    if shown.source is not None:
        return shown.source
    taken = taken_on(shown, seen, today)
    old = taken is not None and (today - taken).days > 365.25 * after_years
    return OLD if old else UNTOLD


def taken_on(shown: Shown, seen: Seen | None, today: date) -> date | None:
    """When it was taken: as told, else by the camera's clock where that does not run ahead."""
    clock = seen.taken_on if seen is not None else None
    return shown.taken_on or (clock if clock is not None and clock <= today else None)


def sight_of(shown: Shown, zone: str, seen: Seen) -> Sight | None:
    """What the machine saw of one zone: in its region, or in the whole picture where it was not marked."""
    return seen.at(shown.regions.get(zone))
