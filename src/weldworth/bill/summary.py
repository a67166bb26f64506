"""The bill as figures to show: mean, quantiles, what drives the spread, and the list of work with its chances."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor

import numpy as np
from numpy.typing import NDArray

from weldworth.bill.costing import Costing
from weldworth.bill.layout import FINISHES, PAINT_LINES, Job, Layout
from weldworth.bill.price import BillDraws
from weldworth.bill.spread import Floats

QUANTILES = (10, 50, 80, 90)


@dataclass(frozen=True, slots=True)
class Driver:
    """share : cov(cost of the part, total) / var(total). zone : a zone id, or set-ups, paint, edges, consumables,
    replacement, overrun. The shares of all drivers sum to 1; one may be below 0."""

    zone: str
    share: float


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the list of work, in money before overrun.

    kind : operation, setup, finish, paint, edges, consumables, replacement. zones : the zones that ask for it.
    chance : probability that it is needed. hours, mean, p10, p50, p90 : given that it is needed.
    """

    kind: str
    code: str
    name: str
    zones: tuple[str, ...]
    chance: float
    hours: float
    mean: float
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class Offer:
    """A whole part in exchange for repairs. chance : share of draws in which it is cheaper.

    saves, costs : mean cost of the repairs and set-ups saved, and of the part with its labour, before paint.
    """

    part: str
    name: str
    chance: float
    saves: float
    costs: float
    caution: str


@dataclass(frozen=True, slots=True)
class Bill:
    """What repair costs. p10..p90 : quantiles of the total, overrun included.

    overhead : share of the estimate that is set-ups, strip and paint rather than metalwork.
    """

    currency: str
    mean: float
    p10: float
    p50: float
    p80: float
    p90: float
    drivers: tuple[Driver, ...]
    lines: tuple[Line, ...]
    offers: tuple[Offer, ...]
    overhead: float


def summary(draws: BillDraws) -> Bill:
    """The figures of the draws; drivers and lines come largest first, lines that no draw needs are left out."""
    p10, p50, p80, p90 = quantiles(draws.total, QUANTILES)
    estimate = draws.total - draws.overrun
    costing = draws.costing
    setups = _money(costing.setup_hours, costing.setup_material, costing)[: -len(FINISHES)].sum(axis=0)
    paint = _money(costing.paint_hours, costing.paint_material, costing).sum(axis=0)
    lines = sorted(_lines(draws.layout, costing, draws.conditions), key=lambda line: -line.chance * line.mean)
    return Bill(
        currency=draws.currency,
        mean=float(draws.total.mean()),
        p10=p10,
        p50=p50,
        p80=p80,
        p90=p90,
        drivers=_drivers(draws),
        lines=tuple(lines),
        offers=_offers(draws),
        overhead=float((setups + paint).mean() / estimate.mean()) if estimate.mean() > 0 else 0.0,
    )


def quantiles(values: Floats, percents: Sequence[float]) -> list[float]:
    """The quantiles of `values` (not empty) at these percentages, linear between the sorted values, as np.percentile gives them.

    The many lines of a bill are short, and np.percentile takes longer over its arguments than over them.
    Hyndman and Fan 1996, Sample Quantiles in Statistical Packages, definition 7.
    """
    ordered, found = np.sort(values), []
    for percent in percents:
        place = (ordered.size - 1) * (percent / 100)
        low = floor(place)
        above, here = place - low, float(ordered[low])
        then = float(ordered[min(low + 1, ordered.size - 1)])
        found.append(here + (then - here) * above if above < 0.5 else then - (then - here) * (1 - above))
    return found


def _money(hours: Floats, material: Floats, costing: Costing) -> Floats:
    return hours * costing.hour_price + material


def zone_costs(draws: BillDraws) -> Floats:
    """(zones, draws): cost of the jobs before overrun, each shared equally by the zones that ask for its operation."""
    layout, costing = draws.layout, draws.costing
    costs = np.zeros(draws.conditions.shape)
    for j, job in enumerate(layout.jobs):
        level = np.abs(costing.level[j])
        if not level.any():
            continue
        money = _money(costing.job_hours[j], costing.job_material[j], costing)
        asks = [(zone, (lookup[draws.conditions[zone]] == level) & (level > 0)) for zone, lookup in job.asks]
        count = np.maximum(sum(mask.astype(np.float64) for _, mask in asks), 1.0)
        for zone, mask in asks:
            costs[zone] += mask * money / count
    return costs


def _drivers(draws: BillDraws) -> tuple[Driver, ...]:
    costing = draws.costing
    zones = zone_costs(draws)
    parts = {zone.id: zones[i] for i, zone in enumerate(draws.layout.plan.zones)}
    parts["set-ups"] = _money(costing.setup_hours, costing.setup_material, costing).sum(axis=0)
    parts["paint"] = _money(costing.paint_hours, costing.paint_material, costing).sum(axis=0)
    parts["edges"] = _money(costing.edge_hours, costing.edge_material, costing)
    parts["consumables"] = costing.consumables
    parts["replacement"] = _money(costing.part_hours, costing.part_material, costing).sum(axis=0)
    parts["overrun"] = draws.overrun
    centred = draws.total - draws.total.mean()
    variance = float(centred @ centred)
    if variance == 0:
        return ()
    shares = {name: float(values @ centred) / variance for name, values in parts.items() if values.any()}
    return tuple(Driver(name, share) for name, share in sorted(shares.items(), key=lambda item: -item[1]))


def _line(
    kind: str, code: str, name: str, zones: tuple[str, ...], hours: Floats, money: Floats, needed: NDArray[np.bool_]
) -> Line:
    values = money[needed]
    p10, p50, p90 = quantiles(values, (10, 50, 90))
    return Line(kind, code, name, zones, float(needed.mean()), float(hours[needed].mean()), float(values.mean()), p10, p50, p90)


def _lines(layout: Layout, costing: Costing, conditions: NDArray[np.intp]) -> Iterator[Line]:
    for j, job in enumerate(layout.jobs):
        yield from _job_lines(layout, costing, j, job)
    setups = [("finish" if s.code in FINISHES else "setup", s.code, s.name) for s in layout.setups]
    paints = [("paint", code, layout.book.operations[code].name) for code in PAINT_LINES]
    parts = [("replacement", part.part, part.name) for part in layout.book.replacements]
    edge = layout.book.operations["edge.join"]
    rows = [
        (setups, costing.setup_hours, costing.setup_material),
        (paints, costing.paint_hours, costing.paint_material),
        (parts, costing.part_hours, costing.part_material),
        ([("edges", edge.code, edge.name)], costing.edge_hours[None], costing.edge_material[None]),
        ([("consumables", "consumables", "What is used up")], np.zeros((1, conditions.shape[1])), costing.consumables[None]),
    ]
    for names, hours, material in rows:
        for (kind, code, name), h, m in zip(names, hours, material, strict=True):
            money = _money(h, m, costing)
            if money.any():
                yield _line(kind, code, name, (), h, money, money > 0)


def _job_lines(layout: Layout, costing: Costing, j: int, job: Job) -> Iterator[Line]:
    """One line for each operation that the job can come to."""
    money = _money(costing.job_hours[j], costing.job_material[j], costing)
    level = costing.level[j]
    for index, repair in enumerate(job.levels, start=1):
        zones = tuple(layout.plan.zones[z].id for z, lookup in job.asks if (lookup == index).any())
        for code, needed in ((repair.operation, level == index), (repair.alternative, level == -index)):
            if needed.any():
                name = f"{job.name}: {layout.book.operations[code].name}"
                yield _line("operation", code, name, zones, costing.job_hours[j], money, needed)


def _offers(draws: BillDraws) -> tuple[Offer, ...]:
    """Parts worth asking for: cheaper in some draws, or near enough to their price on average."""
    book = draws.layout.book
    found = []
    for part, chosen, (saves, costs) in zip(book.replacements, draws.chosen, draws.saves, strict=True):
        chance = float(chosen.mean())
        if chance > 0 or saves >= book.offer_from * costs:
            found.append(Offer(part.part, part.name, chance, float(saves), float(costs), part.caution))
    return tuple(sorted(found, key=lambda offer: -offer.chance))
