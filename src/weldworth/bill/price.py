"""The bill of a vehicle whose metal is uncertain: one price for each joint draw of the zones' conditions."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from weldworth.bill.book import load_book
from weldworth.bill.costing import Costing, Pricing
from weldworth.bill.layout import Layout, lay_out
from weldworth.bill.spread import Chances, Floats, draw_chances, growth, no_chance
from weldworth.bill.terms import RepairTerms
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.tables.load import Tables
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.vehicle.plan import Plan


@dataclass(frozen=True, slots=True)
class BillDraws:
    """Draws of the repair bill.

    total : (draws,) what the job ends up costing, overrun included, in the terms' currency. overrun : (draws,) the part
    of it beyond the estimate. costing : the estimate in parts. conditions : (zones, draws) as priced, out-of-scope zones
    as sound. chosen : (replacements, draws) where a whole part was cheaper than the repairs that it saves.
    saves : (replacements, 2) mean cost of the repairs and set-ups that each part saves, and of the part with its labour.
    """

    total: Floats
    overrun: Floats
    costing: Costing
    conditions: NDArray[np.intp]
    chosen: NDArray[np.bool_]
    saves: Floats
    layout: Layout

    @property
    def currency(self) -> str:
        """Of every amount."""
        return self.layout.terms.currency


def price(
    plan: Plan, conditions: NDArray[np.int8], terms: RepairTerms, tables: Tables, *, seed: int, seen: str = "pictures"
) -> BillDraws:
    """Price joint draws of the conditions.

    conditions : (draws, zones) in the plan's order, codes 0..5 as in vehicle.conditions. seen : what the judgement rests
    on, a row of overrun.csv (pictures, probe, strip). The same seed, tables, terms and draws give the same digits, and
    two calls with the same seed and number of draws share every chance but the metal.

    Raises BadInput for a wrong shape or code, an unknown `seen`, or a zone that repairs.csv does not price.
    """
    book = load_book(plan.body, tables)
    if seen not in book.overrun:
        raise BadInput([Problem("overrun.csv", unknown("kind of look", seen, book.overrun))])
    layout = lay_out(plan, book, terms)
    metal = _metal(layout, conditions)
    chances = draw_chances(1 + max(layout.keys.values()), metal.shape[1], book.correlation, seed)
    return _bill(layout, metal, chances, growth(*book.overrun[seen], chances.overrun))


def price_at_likely(plan: Plan, conditions: NDArray[np.int8], terms: RepairTerms, tables: Tables) -> BillDraws:
    """The same bill with every figure at its likely value, no mishap and no overrun: what an estimate sheet would say."""
    layout = lay_out(plan, load_book(plan.body, tables), terms)
    metal = _metal(layout, conditions)
    draws = metal.shape[1]
    return _bill(layout, metal, no_chance(1 + max(layout.keys.values()), draws), np.ones(draws))


def _metal(layout: Layout, conditions: NDArray[np.int8]) -> NDArray[np.intp]:
    """(zones, draws) codes to price, what the terms leave alone taken as sound."""
    zones = len(layout.plan.zones)
    if conditions.ndim != 2 or conditions.shape[1] != zones or conditions.shape[0] == 0:
        raise BadInput(f"conditions have shape {conditions.shape}; give (draws, {zones}) for body {layout.plan.body!r}")
    if conditions.min() < 0 or conditions.max() >= len(CONDITIONS):
        raise BadInput(f"condition codes run from {conditions.min()} to {conditions.max()}; give 0 to {len(CONDITIONS) - 1}")
    return layout.to_mend(np.ascontiguousarray(conditions.T, dtype=np.intp))


def _bill(layout: Layout, metal: NDArray[np.intp], chances: Chances, times: Floats) -> BillDraws:
    """The cheapest of all combinations of replacements in each draw; those that cannot be cheaper are not priced.

    Those that promise most are priced first, so that fewer of the others need be. Of two that cost the same the one with fewer
    parts stands.
    """
    rate = layout.terms.labour_rate.at(np.clip(chances.rate, -3.0, 3.0))
    pricing = Pricing(layout, metal, chances, rate)
    best = pricing.costing()
    hour, parts = _cheapest_hour(layout, rate), len(layout.book.replacements)
    saves = _saves(layout, best, _part_costs(pricing, hour), _covered_jobs(layout))
    total, winner = best.total.copy(), np.full(rate.size, -1)
    combinations_of = [s for size in range(1, parts + 1) for s in combinations(range(parts), size)]
    least = [pricing.least(some, hour) for some in combinations_of]
    for number in sorted(range(len(least)), key=lambda number: (float(least[number].mean()), number)):
        draws = np.flatnonzero(least[number] <= total)
        if draws.size:
            few = draws if 2 * draws.size < rate.size else None
            draws = np.arange(rate.size) if few is None else draws
            tried = pricing.total(combinations_of[number], few)
            better = (tried < total[draws]) | ((tried == total[draws]) & (number < winner[draws]))
            total[draws[better]], winner[draws[better]] = tried[better], number
    chosen = np.zeros((parts, rate.size), dtype=np.bool_)
    numbers, counts = np.unique(winner, return_counts=True)
    usual = numbers[np.argmax(counts)]
    found = best.only(np.arange(rate.size)) if usual < 0 else pricing.costing(combinations_of[usual])
    for number in numbers:
        draws = np.flatnonzero(winner == number)
        if number != usual:
            found.put(best.only(draws) if number < 0 else pricing.costing(combinations_of[number], draws), draws)
        if number >= 0:
            chosen[np.ix_(combinations_of[number], draws)] = True
    total = found.total * times
    return BillDraws(total, total - found.total, found, metal, chosen, saves, layout)


def _covered_jobs(layout: Layout) -> NDArray[np.bool_]:
    """(replacements, jobs): whether every zone that asks for the job comes with the part."""
    covered = np.zeros((len(layout.covers), len(layout.jobs)), dtype=np.bool_)
    for row, zones in zip(covered, layout.covers, strict=True):
        row[:] = [all(zone in zones for zone, _ in job.asks) for job in layout.jobs]
    return covered


def _cheapest_hour(layout: Layout, rate: Floats) -> Floats:
    """No hour of the job is charged at less than this."""
    return np.minimum(rate, layout.terms.own_rate) if layout.terms.own_hours > 0 else rate


def _part_costs(pricing: Pricing, hour: Floats) -> Floats:
    """(replacements, draws): the least that each part costs with its labour. hour : less than this no hour is charged at."""
    hours, price = pricing.beside.parts(range(len(pricing.layout.book.replacements)), None)
    return price + hours * hour


def _saves(layout: Layout, costing: Costing, own: Floats, covered: NDArray[np.bool_]) -> Floats:
    """(replacements, 2): mean cost of the repairs and set-ups that a part would save, and of the part itself."""
    price = costing.hour_price / costing.hour_price.size
    jobs = costing.job_hours @ price + costing.job_material.mean(axis=1)
    setups = costing.setup_hours @ price + costing.setup_material.mean(axis=1)
    codes = [setup.code for setup in layout.setups]
    saved = [
        jobs[row].sum() + sum(setups[codes.index(code)] for code in part.setups)
        for part, row in zip(layout.book.replacements, covered, strict=True)
    ]
    return np.array([saved, own.mean(axis=1)]).T.reshape(len(saved), 2)
