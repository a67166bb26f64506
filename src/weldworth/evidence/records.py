"""The recorded pieces of evidence. Each is frozen, checks itself once and knows where it came from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from weldworth.core.errors import BadInput, Problem


@dataclass(frozen=True, slots=True)
class Finding:
    """One sign at one zone from one source at one time.

    absent : the sign was looked for and is not there.
    quality : how well the picture or look could have shown it, 0..1, or None for the source's usual.
    region : (left, top, right, bottom) in pixels of the picture, or None.
    replaces : `where` of an earlier record that this one corrects.
    measured : the quality was measured on the picture, which tells how sharp the look was and not how whole.
    """

    zone: str
    sign: str
    source: str
    absent: bool = False
    quality: float | None = None
    picture: str | None = None
    region: tuple[int, int, int, int] | None = None
    seen_on: date | None = None
    note: str = ""
    where: str = ""
    replaces: str | None = None
    measured: bool = False

    def __post_init__(self) -> None:
        if self.quality is not None and not 0 <= self.quality <= 1:
            raise BadInput(
                [Problem(self.where, f"quality {self.quality:g} is outside 0..1; give 0 for useless, 1 for sharp and whole")]
            )
        if self.region is not None:
            left, top, right, bottom = self.region
            if not (0 <= left < right and 0 <= top < bottom):
                raise BadInput(
                    [
                        Problem(
                            self.where, f"region {self.region} is empty or upside down; give left, top, right, bottom in pixels"
                        )
                    ]
                )


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured number at a zone or a reading place.

    kind : "coating", "wall", "door-gap". value_mm : the value in millimetres; value and unit : as given.
    """

    zone: str
    kind: str
    value_mm: float
    source: str
    value: float = 0.0
    unit: str = "mm"
    seen_on: date | None = None
    note: str = ""
    where: str = ""
    replaces: str | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """The seller's reply to a listed question: one of its listed answers, "refused", or free text that is not weighed."""

    question: str
    answer: str
    given_on: date | None = None
    note: str = ""
    where: str = ""
    replaces: str | None = None


Record = Finding | Reading | Answer


def standing(records: Iterable[Record]) -> list[Record]:
    """The records that no later one has corrected, in the order given; corrected ones are kept elsewhere, not weighed.

    Raises BadInput when a correction names a record that is not there.
    """
    items = list(records)
    known = {record.where for record in items}
    problems = [
        Problem(r.where, f"corrects {r.replaces!r}, which is not recorded")
        for r in items
        if r.replaces and r.replaces not in known
    ]
    if problems:
        raise BadInput(problems)
    replaced = {record.replaces for record in items if record.replaces}
    return [record for record in items if record.where not in replaced or not record.where]
