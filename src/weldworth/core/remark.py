"""Doubt about the data as a value, printed beside the number that it weakens."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Remark:
    """code : short kebab-case kind; about : zone, key or table it is about; text : one sentence."""

    code: str
    about: str
    text: str
