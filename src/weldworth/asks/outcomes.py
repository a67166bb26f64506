"""What an ask would show: its outcomes, and the chance of each given what the vehicle is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weldworth.asks.worth import Observation
from weldworth.belief.draws import Draws
from weldworth.belief.network import Array
from weldworth.belief.sight import Lexicon, Source, blind
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.vehicle.plan import Plan, Zone

PROBED = ("rings", "dull", "dents", "goes-through")
LIFTED = 3
_C = len(CONDITIONS)


def picture_chances(lex: Lexicon, q: float, delivered: float) -> Array:
    """P(outcome of a picture | condition), (6 outcomes, 6 conditions), columns sum to 1.

    The signs are not exclusive, so they are gathered into what a picture mostly says: clean paint or metal, a film of rust,
    swelling, eaten metal, something put over it. Each passes the eye with q as in `belief.sight.seen`, then the columns are
    brought to one. A picture is refused a little more often where there is something to hide.
    """
    chance = {name: lex.signs[name].chance for name in lex.signs}
    clean = _any(chance["original-paint"], chance["bare-metal"])
    eaten = _any(chance["scale"], chance["hole"])
    covered = _any(chance["patch"], chance["filler"], chance["fresh-coating"])
    rows = np.array([clean, chance["surface-rust"], chance["bubbling"], eaten, covered])
    mistaken = np.array([lex.sight["blind_clean"]] + [lex.sight["blind_damage"]] * 4)
    seen = q * rows + (1 - q) * mistaken[:, None]
    seen /= seen.sum(axis=0)
    refused = chance["not-shown"]
    missing = np.clip((1 - delivered) * refused / refused[0], 0.0, 0.95)
    return np.vstack([seen * (1 - missing), missing])


def probe_chances(lex: Lexicon, q: float) -> Array:
    """P(result of tapping and probing | condition), (4 results, 6), columns sum to 1: rings, dull, dents, goes through."""
    rows = np.array([lex.signs[name].chance for name in PROBED])
    rows = rows / rows.sum(axis=0)
    through = blind(lex, lex.signs[PROBED[-1]])
    mistaken = np.array([(1 - through) * lex.sight[f"blind_{name}"] for name in PROBED[:-1]] + [through])
    return np.asarray(q * rows + (1 - q) * mistaken[:, None])


def band_chances(lex: Lexicon, rows: Sequence[str], *, q: float, delivered: float) -> Array:
    """P(band of a gauge | condition), or the band not being there and no reading at all, columns sum to 1.

    One row: the band or not. Several: exactly one of them.
    """
    chance = np.array([lex.signs[row].chance for row in rows])
    chance = np.vstack([chance, 1 - chance]) if len(rows) == 1 else chance / chance.sum(axis=0)
    seen = q * chance + (1 - q) / len(chance)
    return np.vstack([delivered * seen, np.full((1, _C), 1 - delivered)])


def of_picture(plan: Plan, zone: Zone, draws: Draws, lex: Lexicon, *, q: float, delivered: float, power: float) -> Observation:
    """A picture of a zone, which also tells of up to two zones that it hides.

    power : below 1 where earlier pictures of the zone say part of it already.
    """
    own = picture_chances(lex, q, delivered)
    speaks = np.array([0, 0, 1, 1, 0], dtype=bool)
    hidden = {tell.hidden: tell.row for tell in plan.tells if tell.zone == zone.id and tell.hidden in plan.index}
    told = []
    for row in list(hidden.values())[:2]:
        yes = q * lex.tells[row].chance + (1 - q) * lex.sight["blind_damage"]
        told.append(np.vstack([np.where(speaks[:, None], yes, 1 - yes), np.full((1, _C), yes.mean())]))
    indices = [plan.index[zone.id], *(plan.index[id] for id in list(hidden)[:2])]
    return sort(draws.conditions[:, indices], [own, *told], power)


def sort(conditions: NDArray[np.int8], likelihoods: Sequence[Array], power: float = 1.0) -> Observation:
    """An observation whose likelihood is the product of one table per zone, brought to one per draw.

    conditions : (N, zones). likelihoods : one (outcomes, 6) table per zone.
    """
    category = np.zeros(len(conditions), dtype=np.intp)
    chance = np.ones((len(likelihoods[0]), 1))
    for column, table in zip(conditions.T, likelihoods, strict=True):
        category = category * _C + column
        chance = (chance[:, :, None] * table[:, None, :]).reshape(len(table), -1)
    chance = chance**power
    return Observation(category, chance / chance.sum(axis=0))


def of_gap(plan: Plan, hidden: Sequence[str], row: str, draws: Draws, lex: Lexicon, *, q: float) -> Observation:
    """A door gap measured with a ruler: wide or even, by any one of the zones behind it giving way (noisy or)."""
    chance = q * lex.tells[row].chance + (1 - q) * lex.sight["blind_damage"]
    leak = chance.min()
    holds = (1 - chance) / (1 - leak)
    level = np.ones(len(draws.conditions))
    for id in hidden:
        level = level * holds[draws.conditions[:, plan.index[id]]]
    values, category = np.unique(np.round((1 - leak) * level, 4), return_inverse=True)
    return Observation(category, np.vstack([1 - values, values]))


def of_answer(foretold: Mapping[str, Array], refused: float) -> Observation:
    """A question: every answer equally usual beforehand, tilted by what it would say of each draw.

    foretold : answer -> relative likelihood per draw, (N,). refused : chance of no answer, the same for all.
    """
    rows = np.array(list(foretold.values()))
    rows = rows / rows.sum(axis=0) * (1 - refused)
    return Observation(None, np.vstack([rows, np.full((1, rows.shape[1]), refused)]))


def visit_reports(plan: Plan, reach: int, source: Source, draws: Draws, lex: Lexicon, payoff: Array, seed: int) -> Array:
    """One simulated report per draw of an inspection that probes every zone up to an access, (N, 4) features."""
    looks = looks_of(plan, within_reach(plan, reach), source, draws, lex, payoff, seed)
    return report_of(plan, looks)


@dataclass(frozen=True)
class Looks:
    """Simulated probing. zones : places in the plan, (n,). foretold : what each result foretells of the payoff, less its mean,
    (n, N), money. bad : how many results of each draw are worse than a ring, (N,)."""

    zones: tuple[int, ...]
    foretold: Array
    bad: Array


def within_reach(plan: Plan, reach: int) -> tuple[int, ...]:
    """The zones, by their place in the plan, that an inspection gets at. From so low a reach nobody looks underneath."""
    return tuple(
        z for z, zone in enumerate(plan.zones) if zone.access <= reach and (reach >= LIFTED or zone.station != "underneath")
    )


def looks_of(plan: Plan, zones: Sequence[int], source: Source, draws: Draws, lex: Lexicon, payoff: Array, seed: int) -> Looks:
    """One simulated result per draw of probing each of `zones`, replaced by the payoff that this result alone foretells."""
    rng = np.random.default_rng(seed)
    bounds = np.cumsum(probe_chances(lex, source.exposed), axis=0)[:-1]
    foretold: list[Array] = []
    bad = np.zeros(len(payoff))
    for z in zones:
        condition, luck = draws.conditions[:, z], rng.random(len(payoff))
        result = np.zeros(len(payoff), dtype=np.intp)
        for bound in bounds:
            result += luck > bound[condition]
        count = np.bincount(result, minlength=4)
        mean = np.bincount(result, weights=payoff, minlength=4) / np.maximum(count, 1) - payoff.mean()
        foretold.append(mean[result])
        bad += result > 0
    return Looks(tuple(zones), np.array(foretold).reshape(len(zones), len(payoff)), bad)


def report_of(plan: Plan, looks: Looks) -> Array:
    """What was foretold, summed over all zones and over structural ones, its worst, and the number of bad results, (N, 4)."""
    structural = [plan.zones[z].structural == "yes" for z in looks.zones]
    table = looks.foretold
    return np.column_stack([table.sum(axis=0), table[structural].sum(axis=0), table.min(axis=0), looks.bad])


def _any(*chances: Array) -> Array:
    missing = np.ones_like(chances[0])
    for chance in chances:
        missing = missing * (1 - chance)
    return 1 - missing
