"""Where and how the vehicle was kept, laid out over its life without holes or double years."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, isfinite

from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.core.words import unknown


@dataclass(frozen=True, slots=True)
class Air:
    """Measured air of a place, for the published dose-response formula; all yearly means.

    rh : relative humidity, %. so2, chloride : deposition, mg/(m2 d). temperature_c : degC, None for that of the place.
    """

    rh: float
    so2: float
    chloride: float
    temperature_c: float | None = None


@dataclass(frozen=True, slots=True)
class Residence:
    """One place in the vehicle's life. None means that nobody says.

    place : postal code, "Town, ST", or (latitude, longitude).   start, end : years with fraction, end None for "until now".
    storage, ground, coating, use, interior, roof : words of exposure_multipliers.csv.
    salted_winters : winters driven on salted roads.   papers : papers prove this stretch.
    air : measured air, where it is known.   where : for messages.
    """

    place: str | tuple[float, float] | None
    start: float
    end: float | None = None
    storage: str | None = None
    ground: str | None = None
    salted_winters: float | None = None
    coating: str | None = None
    use: str | None = None
    interior: str | None = None
    roof: str | None = None
    papers: bool = False
    air: Air | None = None
    where: str = ""

    def cues(self) -> dict[str, str | None]:
        """Kind of cue -> the word given, without the winters."""
        return {
            "storage": self.storage,
            "ground": self.ground,
            "coating": self.coating,
            "use": self.use,
            "interior": self.interior,
            "roof": self.roof,
        }


@dataclass(frozen=True, slots=True)
class Span:
    """A piece of the life in one residence, or in none (a gap)."""

    start: float
    end: float
    residence: Residence | None

    @property
    def years(self) -> float:
        """Length, a."""
        return self.end - self.start


def problems_of(residence: Residence, until: float, words: Mapping[str, Sequence[str]]) -> list[Problem]:
    """What is impossible in one residence. words : kind of cue -> known words.   until : the day of judgement, a year."""
    where, start = residence.where, residence.start
    end = until if residence.end is None else residence.end
    found = [
        Problem(where, unknown(kind, word, words[kind]))
        for kind, word in residence.cues().items()
        if word and word not in words[kind]
    ]
    if not (isfinite(start) and isfinite(end)):
        return [*found, Problem(where, f"from {start} to {end} is not a span of years; give years such as 1984 or 1984.5")]
    if start > until:
        found.append(Problem(where, f"starts in {start:g}, after {until:.2f}; a history cannot lie in the future"))
    elif end > until + 1:
        found.append(
            Problem(where, f"ends in {end:g}, after {until:.2f}; leave the end out where the vehicle still stands there")
        )
    elif end < start:
        found.append(Problem(where, f"ends in {end:g} before it starts in {start:g}; swap them"))
    winters = residence.salted_winters
    if winters is not None and not 0 <= winters <= ceil(max(0.0, end - start)) + 1:
        most = ceil(max(0.0, end - start)) + 1
        found.append(Problem(where, f"salted_winters is {winters:g} in {end - start:.1f} years; give a count from 0 to {most}"))
    return found


def lay_out(
    residences: Sequence[Residence], *, built: float, until: float, closed_gap: float
) -> tuple[tuple[Span, ...], tuple[Remark, ...]]:
    """The life from `built` to `until` as spans without holes or double years, and what had to be settled for that.

    Where residences overlap, the one that starts last counts. A gap up to `closed_gap` years after a residence is laid to it.
    A residence from before the vehicle was built counts from then on. Raises BadInput when one ends before that, or when built
    does not lie before until.
    """
    if not (isfinite(built) and isfinite(until) and built < until):
        raise BadInput([Problem("", f"built {built:g} must lie before {until:g}, the day that the judgement is for")])
    remarks, problems, told = [], [], []
    for residence in residences:
        end = until if residence.end is None else min(until, residence.end)
        if end < built:
            problems.append(Problem(residence.where, f"ends in {end:g}, before the vehicle was built in {built:g}"))
        if residence.start < built - 1:
            text = f"{_named(residence)} starts in {residence.start:g}; counted from {built:g} on, when it was built"
            remarks.append(Remark("before-built", residence.where, text))
        if end > max(residence.start, built):
            told.append(Span(residence.start, end, replace(residence, end=end)))
    if problems:
        raise BadInput(problems)
    told.sort(key=lambda span: (span.start, -span.end, repr(span.residence)))
    remarks += _overlaps(told)
    spans = _joined(_pieces(told, built, until), closed_gap)
    remarks += [
        Remark(
            "gap-in-history",
            f"{span.start:g} to {span.end:g}",
            f"nothing is known of {span.years:.1f} years; the spread is wider for it",
        )
        for span in spans
        if span.residence is None
    ]
    return spans, tuple(remarks)


def _named(residence: Residence) -> str:
    return f"the stretch at {residence.place}" if residence.place is not None else "the stretch without a place"


def _overlaps(told: Sequence[Span]) -> list[Remark]:
    """A remark for every residence that begins over a year before the ones before it have ended."""
    found: list[Remark] = []
    reached: Span | None = None
    for span in told:
        if reached is not None and reached.residence is not None and span.residence is not None and span.start < reached.end - 1:
            text = f"{_named(span.residence)} overlaps {_named(reached.residence)}; the one that starts last counts"
            found.append(Remark("overlap", span.residence.where, text))
        if reached is None or span.end > reached.end:
            reached = span
    return found


def _pieces(told: Sequence[Span], built: float, until: float) -> list[Span]:
    """The life cut at every start and end; of several residences the last in order holds a piece."""
    edges = sorted({built, until} | {at for span in told for at in (span.start, span.end) if built < at < until})
    pieces = []
    for start, end in pairwise(edges):
        holding = [span.residence for span in told if span.start <= start and span.end >= end]
        pieces.append(Span(start, end, holding[-1] if holding else None))
    return pieces


def _joined(pieces: Sequence[Span], closed_gap: float) -> tuple[Span, ...]:
    """Neighbours of one residence joined, short gaps laid to the residence before them."""
    spans: list[Span] = []
    for piece in pieces:
        before = spans[-1] if spans else None
        holder = piece.residence
        if holder is None and before is not None and before.residence is not None and piece.years <= closed_gap:
            holder = before.residence
        if before is not None and before.residence is holder:
            spans[-1] = Span(before.start, piece.end, holder)
        else:
            spans.append(Span(piece.start, piece.end, holder))
    return tuple(spans)
