"""What a person says of a picture: which zones it shows and where, how it came, and which suggestions are wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

Region = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels of the upright picture."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One picture as a person described it.

    file : its name below pictures/. zones : what it shows. regions : zone -> where in the picture, for zones that were marked.
    source : how it came, or None where nobody said. taken_on : when it is said to have been taken.
    dismissed : (sign, zone) of the machine's suggestions that a person put aside; zone "" stands for the whole picture.
    where : the record it came from.
    """

    file: str
    zones: tuple[str, ...] = ()
    regions: Mapping[str, Region] = field(default_factory=dict)
    source: str | None = None
    taken_on: date | None = None
    dismissed: frozenset[tuple[str, str]] = frozenset()
    note: str = ""
    where: str = ""

    def is_dismissed(self, sign: str, zone: str) -> bool:
        """Whether a person put the suggestion of this sign at this zone aside."""
        return (sign, zone) in self.dismissed or (sign, "") in self.dismissed


def dismissal(text: str) -> tuple[str, str]:
    """Sign and zone of a dismissal as written: ``sign`` for the whole picture, ``sign:zone`` for one zone of it.

    >>> dismissal("staining:pu.frame.tail"), dismissal("staining")
    (('staining', 'pu.frame.tail'), ('staining', ''))
    """
    sign, _, zone = text.partition(":")
    return sign.strip(), zone.strip()


@dataclass(frozen=True, slots=True)
class Look:
    """What the machine said of one zone on one picture; a suggestion with a measured reliability.

    quality : how well the picture could have shown it, 0..1. suggested : signs that it suggests. settled : signs of which it is
    not heard, because a person spoke or it was put aside. silent : whether the signs that it does not suggest may count.
    sharing : zones that share this look because none of them was marked, itself included. where : the picture's record.
    """

    zone: str
    picture: str
    source: str
    quality: float
    suggested: tuple[str, ...] = ()
    settled: frozenset[str] = frozenset()
    silent: bool = True
    sharing: int = 1
    seen_on: date | None = None
    where: str = ""
