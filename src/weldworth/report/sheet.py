"""Everything that a printed or drawn report shows, as rows and strings. No arithmetic comes after this.

Floats in it only say where something lies on an axis or how dark it is; every figure that is read is already a string.
"""

from __future__ import annotations

from dataclasses import dataclass

Six = tuple[float, float, float, float, float, float]


@dataclass(frozen=True, slots=True)
class Item:
    """A labelled line: `value` in figures, `note` beside or below it."""

    label: str
    value: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Spread:
    """Money that lies between low and high 8 times in 10; all three on the common axis."""

    label: str
    low: float
    middle: float
    high: float
    text: str
    note: str


@dataclass(frozen=True, slots=True)
class Axis:
    """The common money axis, from 0: ticks with their labels, and where the ceiling and the price lie (None: nowhere)."""

    ticks: tuple[float, ...]
    labels: tuple[str, ...]
    spreads: tuple[Spread, ...]
    ceiling: float | None
    price: float | None
    price_high: float | None
    price_text: str


@dataclass(frozen=True, slots=True)
class CurveSheet:
    """Expected profit and chance of loss at each price, the shop's limit, and labels for both axes."""

    prices: tuple[float, ...]
    profit: tuple[float, ...]
    loss: tuple[float, ...]
    limit: float
    limit_text: str
    wanted: float
    price_ticks: tuple[float, ...]
    price_labels: tuple[str, ...]
    profit_ticks: tuple[float, ...]
    profit_labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ZoneRow:
    """One zone: the six chances for drawing and as figures out of 100.

    bad : pitted, holed or masked. tint : 0 pale to 8 deep by expected badness. hatch : 0 sure to 3 very unsure.
    """

    id: str
    label: str
    station: str
    structural: str
    seen: bool
    seen_words: str
    chances: Six
    figures: tuple[str, ...]
    bad: float
    bad_text: str
    likely: str
    tint: int
    hatch: int


@dataclass(frozen=True, slots=True)
class Station:
    """The zones of one station, worst first, and how many of them were seen."""

    name: str
    seen: str
    zones: tuple[ZoneRow, ...]


@dataclass(frozen=True, slots=True)
class WorkRow:
    """One line of the bill: chance that it is needed, cost then, and what it counts for on average."""

    name: str
    chance: float
    chance_text: str
    low: float
    high: float
    cost: str
    counts: str


@dataclass(frozen=True, slots=True)
class BillSheet:
    """The bill: its spread, its lines, the shared set-ups and what else is charged once, whole parts, what drives the spread.

    top : where the axis of the lines ends.
    """

    headline: str
    notes: tuple[str, ...]
    work: tuple[WorkRow, ...]
    once: tuple[WorkRow, ...]
    total: WorkRow
    top: float
    offers: tuple[Item, ...]
    drivers: tuple[Item, ...]
    driver_shares: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class StretchRow:
    """One stretch of the vehicle's life and what it added to the loss of metal from below."""

    label: str
    years: str
    category: str
    rate: str
    factors: str
    share: float
    share_text: str
    note: str
    known: bool


@dataclass(frozen=True, slots=True)
class AskRow:
    """One ask: what it is worth before its cost, what it costs, how often it decides."""

    kind: str
    about: str
    worth: float
    cost: float
    worth_text: str
    cost_text: str
    decides: str
    text: str
    caution: str


@dataclass(frozen=True, slots=True)
class AskSheet:
    """The asks by worth, the best few together with their joint worth as it grows, and the message to send."""

    summary: str
    ranked: tuple[AskRow, ...]
    left_out: str
    best: tuple[AskRow, ...]
    joint: tuple[str, ...]
    joint_words: str
    message: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was recorded and stands, as one line each, by station; answers and pictures apart."""

    counts: str
    stations: tuple[tuple[str, tuple[Item, ...]], ...]
    answers: tuple[Item, ...]
    unseen: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Decision:
    """The ceiling and what it rests on, in words and figures; `advice` is what follows from it."""

    ceiling: str
    currency: str
    advice: str
    because: str
    at: str
    profit: str
    loss: str
    loss_note: str
    at_price: tuple[Item, ...]
    binds: tuple[Item, ...]
    adds_up: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One candidate's report."""

    title: str
    subtitle: str
    sale: str
    weighed_on: str
    identity: tuple[Item, ...]
    number_words: tuple[str, ...]
    decision: Decision
    axis: Axis
    curve: CurveSheet
    evidence: Evidence
    stations: tuple[Station, ...]
    worst: tuple[ZoneRow, ...]
    unknown: tuple[ZoneRow, ...]
    repair: tuple[Item, ...]
    bill: BillSheet
    stretches: tuple[StretchRow, ...]
    exposure: tuple[Item, ...]
    resale: tuple[Item, ...]
    asks: AskSheet
    remarks: tuple[Item, ...]
    cautions: tuple[str, ...]
    method: str
    block: tuple[Item, ...]
