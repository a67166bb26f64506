"""A life in several places, turned into metal loss against the reference life."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot, prod

from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.exposure.constants import constants
from weldworth.exposure.corrosion import category, growth, relative_growth
from weldworth.exposure.cues import CHANNELS_WITH_CUES, Cue, Factors, known_words, read_cues, steady_cues
from weldworth.exposure.history import Residence, Span, lay_out, problems_of
from weldworth.exposure.places import Place, find_place
from weldworth.exposure.rates import Rate, RateTables, rate_at, read_rates
from weldworth.exposure.result import CHANNELS, Exposure, Stretch
from weldworth.tables.load import Tables


@dataclass(frozen=True, slots=True)
class _Year:
    """A share of a span's years that all went alike: share, [0, 1], and the multipliers at work in them."""

    share: float
    cues: tuple[Cue, ...]

    def factor(self, channel: str) -> float:
        return prod(cue.factors[channel] for cue in self.cues) if channel in CHANNELS_WITH_CUES else 1.0


@dataclass(frozen=True, slots=True)
class _Piece:
    """A span with all that is needed to add it up."""

    span: Span
    label: str
    rate: Rate
    years: tuple[_Year, ...]
    sd: float
    remarks: tuple[Remark, ...]

    def rate_um(self, channel: str, reference_um: float) -> float:
        """Rate before multipliers: battery acid asks neither for the climate nor for the road."""
        return self.rate.um if channel in CHANNELS_WITH_CUES else reference_um

    def grown(self, channel: str, b: float, reference_um: float) -> float:
        """What a year of this piece adds to the equivalent-time sum, um**(1/b)/a."""
        um = self.rate_um(channel, reference_um)
        return sum(year.share * growth(um * year.factor(channel), b) for year in self.years)


@dataclass(frozen=True, slots=True)
class _Knowledge:
    """The tables that the model reads, read once."""

    numbers: Mapping[str, float]
    rates: RateTables
    cues: Mapping[str, Mapping[str, Factors]]


def live(residences: Sequence[Residence], *, built: float, until: float, tables: Tables) -> Exposure:
    """The exposure E of a life: metal loss relative to 50 years in a temperate place with mixed storage and no road salt.

    residences : in any order; none at all is a life of which nothing is known.   built, until : years with fraction.
    E = (sum over the life of (r m)**(1/b) t)**b / (r_ref t_ref**b), with the first-year loss r of ISO 9223, the exponent b of
    ISO 9224 (faces that dry) or of sheltered steel (cavities), and the trade's multipliers m on the loss; then held within
    lowest..highest of the table.
    Raises BadInput with every problem found: unknown places and words, impossible years and counts.
    """
    known = _Knowledge(constants(tables), read_rates(tables), read_cues(tables))
    places = _found(residences, until, known, tables)
    spans, remarks = lay_out(residences, built=built, until=until, closed_gap=known.numbers["closed_gap_years"])
    pieces = [_piece(span, places, known) for span in spans]
    b_open, b_sheltered = known.numbers["b_open"], known.numbers["b_sheltered"]
    shares = _shares(pieces, b_open, known.numbers["reference_rate_um"])
    return Exposure(
        open_air=_relative(pieces, b_open, known.numbers),
        sheltered=_relative(pieces, b_sheltered, known.numbers),
        spread=sum(share * piece.sd for share, piece in zip(shares, pieces, strict=True)),
        backward=_backward(pieces, b_open, known.numbers["reference_rate_um"]),
        backward_sheltered=_backward(pieces, b_sheltered, known.numbers["reference_rate_um"]),
        stretches=tuple(_stretch(piece, share, b_open) for piece, share in zip(pieces, shares, strict=True)),
        remarks=(*remarks, *dict.fromkeys(remark for piece in pieces for remark in piece.remarks)),
    )


def _found(
    residences: Sequence[Residence], until: float, known: _Knowledge, tables: Tables
) -> dict[str | tuple[float, float], Place]:
    """The place of every residence that names one; raises BadInput with all that is impossible in any of them."""
    words = known_words(known.cues)
    problems: list[Problem] = []
    places: dict[str | tuple[float, float], Place] = {}
    for residence in residences:
        problems += problems_of(residence, until, words)
        try:
            if residence.place is not None:
                places[residence.place] = find_place(residence.place, tables, where=residence.where)
                rate_at(places[residence.place], residence.air, known.rates, where=residence.where)
            elif residence.air is not None:
                problems.append(Problem(residence.where, "air is given without a place; give the place that it was measured at"))
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return places


def _piece(span: Span, places: Mapping[str | tuple[float, float], Place], known: _Knowledge) -> _Piece:
    """Rate, multipliers and doubt of one span."""
    home, spreads = span.residence, known.rates.spreads
    um = known.numbers["unknown_rate_um"]
    nowhere = Rate(um, category(um), spreads["place-unknown"], 1.0, "place unknown: the spread of steel in the open worldwide")
    if home is None:
        return _Piece(span, "unknown", nowhere, (_Year(1.0, ()),), nowhere.sd, ())
    place = None if home.place is None else places[home.place]
    rate = nowhere if place is None else rate_at(place, home.air, known.rates, where=home.where)
    label = "place unknown" if place is None else place.name
    share, told = _winters(home, place, known)
    doubts, remarks = _doubts(home, label, told, place is not None)
    sd = hypot(rate.sd, *(spreads[doubt] for doubt in doubts)) if place is not None else rate.sd
    salted = place is not None and place.salted is True
    return _Piece(span, label, rate, _years(home, rate.roof, share, salted, known), sd, remarks)


def _doubts(home: Residence, label: str, winters_told: bool, placed: bool) -> tuple[list[str], tuple[Remark, ...]]:
    """The cues of exposure_spread.csv that widen one residence, and what to say about it."""
    doubts = [] if home.papers else ["unpapered"]
    remarks = []
    if not placed:
        remarks.append(
            Remark("place-unknown", home.where, f"nobody says where it was from {home.start:g} on; the spread is wider for it")
        )
    if home.storage is None:
        doubts.append("storage-unknown")
        remarks.append(Remark("storage-unknown", home.where, f"nobody says how it was kept ({label})"))
    elif home.storage in ("outside", "carport") and home.ground is None:
        doubts.append("ground-unknown")
    if not winters_told:
        doubts.append("winters-unknown")
        text = f"nobody says how many winters were driven on salt ({label}); a share of them is counted as driven"
        remarks.append(Remark("winters-unknown", home.where, text))
    if home.coating == "fresh":
        remarks.append(Remark("fresh-coating", home.where, f"a new coat hides what is under it and mends nothing ({label})"))
    return doubts, tuple(remarks)


def _winters(home: Residence, place: Place | None, known: _Knowledge) -> tuple[float, bool]:
    """Share of the years with a winter driven on salt, and whether somebody said so."""
    if home.salted_winters is not None:
        length = (home.end or home.start) - home.start
        return (min(1.0, home.salted_winters / length) if length > 0 else 0.0), True
    if place is None or place.salted is False:
        return 0.0, True
    return known.numbers["winters_driven_unknown" if place.salted else "winters_driven_unknown_salt"], False


def _years(home: Residence, roof: float, share: float, salted: bool, known: _Knowledge) -> tuple[_Year, ...]:
    """The years with a salted winter driven, and the others."""
    winters = known.cues["winters"]
    laid_up = [Cue("salted winters", winters["laid-up"])] if salted else []
    driven = [*steady_cues(home, known.cues, roof, wet=True), Cue("salted winters", winters["driven"])]
    others = [*steady_cues(home, known.cues, roof, wet=False), *laid_up]
    return tuple(year for year in (_Year(share, tuple(driven)), _Year(1 - share, tuple(others))) if year.share > 0)


def _relative(pieces: Sequence[_Piece], b: float, numbers: Mapping[str, float]) -> dict[str, float]:
    """Channel -> E, held within lowest..highest."""
    reference = numbers["reference_rate_um"]
    whole = growth(reference, b) * numbers["reference_years"]
    sums = {channel: sum(piece.grown(channel, b, reference) * piece.span.years for piece in pieces) for channel in CHANNELS}
    return {channel: min(numbers["highest"], max(numbers["lowest"], (total / whole) ** b)) for channel, total in sums.items()}


def _shares(pieces: Sequence[_Piece], b: float, reference: float) -> list[float]:
    """The part of the equivalent-time sum of the bottom channel that each piece brings; they add up to 1."""
    parts = [piece.grown("bottom", b, reference) * piece.span.years for piece in pieces]
    return [part / sum(parts) for part in parts]


def _backward(pieces: Sequence[_Piece], b: float, reference: float) -> tuple[tuple[float, float], ...]:
    """(years ago, ln(E now / E then)) of the bottom channel, back to a year after it was built."""
    built, until = pieces[0].span.start, pieces[-1].span.end
    age = until - built
    wanted = {0.0, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0, max(0.0, age - 1)} | {
        until - p.span.start for p in pieces
    }

    def grown_by(when: float) -> float:
        return sum(p.grown("bottom", b, reference) * min(p.span.years, max(0.0, when - p.span.start)) for p in pieces)

    now = grown_by(until)
    return tuple((ago, relative_growth(now, grown_by(until - ago), b)) for ago in sorted(wanted) if ago <= max(0.0, age - 1))


def _stretch(piece: _Piece, share: float, b: float) -> Stretch:
    """What the piece added: factors of the bottom channel, those of part of the years averaged in equivalent time."""
    names = list(dict.fromkeys(cue.name for year in piece.years for cue in year.cues))
    factors = {}
    for name in names:
        at = [(year.share, next((cue.factors["bottom"] for cue in year.cues if cue.name == name), 1.0)) for year in piece.years]
        factors[name] = sum(part * growth(factor, b) for part, factor in at) ** b
    span, home = piece.span, piece.span.residence
    return Stretch(
        label=piece.label,
        start=span.start,
        end=span.end,
        years=span.years,
        category=piece.rate.category,
        rate_um=piece.rate.um,
        multipliers=factors,
        share=share,
        known=home is not None and home.place is not None,
        note=piece.rate.words if home is not None else "nothing is known of these years",
    )
