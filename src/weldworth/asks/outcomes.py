"""What an ask would show: its outcomes, and the chance of each given what the vehicle is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weldworth.asks.worth import PARTS, Observation, parts
from weldworth.belief.draws import Draws
from weldworth.belief.looking import worst_first
from weldworth.belief.network import Array
from weldworth.belief.sight import Lexicon, Source, probe_signs, seen, sharpness
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.vehicle.plan import Plan, Zone

LIFTED = 3
_C = len(CONDITIONS)
WORSE = 2
"""The first row of what a probe foretells that is bad news: before it come a ring and a probe that tells nothing."""
LUCK = 5
"""Sets the luck of simulated looks apart from that of bill, resale and transport, which are drawn by the seed too."""
_LEAST = 0.05
"""A picture comes at least so often, whatever there is to hide."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture to ask for. quality : how well it usually shows, 0..1. delivered : how often one comes, on average, 0..1.
    power : below 1 where earlier looks at the zone say part of it already. tell : power of what it tells of hidden metal."""

    quality: float
    delivered: float
    power: float
    tell: float


def shown_chances(lex: Lexicon, zone: Zone, quality: float) -> Array:
    """P(the worst that a picture shows | condition), given that it comes, (7 outcomes, 6 conditions), columns sum to 1.

    Clean paint, nothing that tells, a film of rust, something put over it, swelling, scale, a hole. Each sign passes the eye as
    in the belief; the signs are not exclusive, see `belief.looking`.
    """

    asked = lex.sources["asked-picture"]
    signs = [lex.signs[sign] for group in SHOWN for sign in group]
    eyes = [sharpness(lex, asked, zone, sign, absent=False, quality=quality) for sign in signs]
    worst = worst_first(np.array([seen(lex, sign, q, absent=False) for sign, q in zip(signs, eyes, strict=True)]))
    return np.add.reduceat(worst, np.cumsum([0, 1, *(len(group) for group in SHOWN[:-1])]), axis=0)


def refused_chances(lex: Lexicon, delivered: float, prior: Array) -> Array:
    """P(the picture does not come | condition), (6,): likelier where there is something to hide, as `not-shown` in the table.

    prior : what is believed of the zone, (6,): on average over it the picture comes `delivered` of the time.
    """
    refused = lex.signs["not-shown"].chance
    return np.asarray(refused * min((1 - delivered) / float(prior @ refused), (1 - _LEAST) / float(refused.max())))


def probe_chances(lex: Lexicon, q: float) -> Array:
    """P(the worst that tapping and probing reports | condition), (5, 6), columns sum to 1.

    Rings, nothing that tells, then the bad results of `PROBED`, each with none of the worse ones. What the belief makes of each
    once it is recorded: `belief.looking.words_of`.
    """
    return worst_first(probe_signs(lex, q))


def band_chances(lex: Lexicon, rows: Sequence[str], *, q: float, delivered: float) -> Array:
    """P(band of a gauge | condition), and of no reading in any of them, columns sum to 1.

    One row: the band or not, or no reading at all. Several: at most one of them, as often as the table says; a reading that fits
    none of them comes as no reading.
    """
    chance = np.array([lex.signs[row].chance for row in rows])
    if len(rows) == 1:
        chance = np.vstack([chance, 1 - chance])
        seen_bands = delivered * (q * chance + (1 - q) / len(chance))
    else:
        seen_bands = delivered * q * chance / max(1.0, float(chance.sum(axis=0).max()))
    return np.vstack([seen_bands, 1 - seen_bands.sum(axis=0)])


def of_picture(plan: Plan, zone: Zone, believed: Array, draws: Draws, lex: Lexicon, photo: Photo, shown: Array) -> Observation:
    """A picture of a zone, which also tells of up to two zones that it hides.

    believed : probability of each condition of each zone, (Z, 6). shown : `shown_chances` of the zone. What is hidden makes a bad
    sign likelier or rarer than it is on the zone itself by what the tell says of it against what is believed of it.
    """
    tells = [tell for tell in plan.tells if tell.zone == zone.id and tell.hidden in plan.index]
    hidden = list({tell.hidden: tell.row for tell in tells}.items())[:2]
    tables = [shown]
    for id, row in hidden:
        yes = photo.quality * lex.tells[row].chance + (1 - photo.quality) * lex.sight["blind_damage"]
        factor = (yes / (believed[plan.index[id]] @ yes)) ** (photo.tell / np.sqrt(sum(tell.row == row for tell in tells)))
        tables.append(np.where(SPEAKS[:, None], factor, 1.0))
    zones = [plan.index[zone.id], *(plan.index[id] for id, _ in hidden)]
    category, chance = sort(draws.conditions[:, zones], tables, photo.power)
    missing = refused_chances(lex, photo.delivered, believed[zones[0]])
    missing = np.repeat(missing, _C ** len(hidden))
    return Observation(category, np.vstack([chance * (1 - missing), missing]))


def sort(conditions: NDArray[np.int8], likelihoods: Sequence[Array], power: float) -> tuple[NDArray[np.intp], Array]:
    """The category of each draw, (N,), and P(outcome | category) from the product of one table per zone, brought to one.

    conditions : (N, zones). likelihoods : one (outcomes, 6) table per zone.
    """
    category = np.zeros(len(conditions), dtype=np.intp)
    chance = np.ones((len(likelihoods[0]), 1))
    for column, table in zip(conditions.T, likelihoods, strict=True):
        category = category * _C + column
        chance = (chance[:, :, None] * table[:, None, :]).reshape(len(table), -1)
    chance = chance**power
    return category, chance / chance.sum(axis=0)


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
    (n, N), money. bad : how many results of each draw are bad news, (N,)."""

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
    luck = np.random.default_rng([seed, LUCK]).random((len(zones), len(payoff)))
    chances = probe_chances(lex, source.exposed)
    condition = draws.conditions.T[list(zones)]
    result = np.zeros(luck.shape, dtype=np.intp)
    for bound in np.cumsum(chances, axis=0)[:-1]:
        result += luck > bound.take(condition)
    return Looks(tuple(zones), _foretold(result, len(chances), payoff), (result >= WORSE).sum(axis=0).astype(np.float64))


def _foretold(result: NDArray[np.intp], kinds: int, payoff: Array) -> Array:
    """Mean payoff after each result of each look, less the mean of all, (n, N), from the other parts of the draws than its own:
    the luck of a draw's own payoff must not pass for knowledge. result : (n, N), below `kinds`.

    Means that differ no more than chance makes them differ are drawn together, at last to nothing: the positive part of James
    and Stein (1961), Estimation with quadratic loss, Proc. 4th Berkeley Symposium 1, 361-379.
    """
    looks, draws = result.shape
    spare = payoff - payoff.mean()
    cell = result + kinds * (parts(draws) + PARTS * np.arange(looks)[:, None])
    count, total = (
        np.bincount(cell.ravel(), weights=weights, minlength=looks * PARTS * kinds).reshape(looks, PARTS, kinds)
        for weights in (None, np.tile(spare, looks))
    )
    others = count.sum(axis=1, keepdims=True) - count
    mean = (total.sum(axis=1, keepdims=True) - total) / np.maximum(others, 1)
    between = np.maximum((others * mean**2).sum(axis=2, keepdims=True), 1e-300)
    return np.asarray((mean * np.maximum(1 - (kinds - 1) * spare.var() / between, 0.0)).ravel().take(cell))


def report_of(plan: Plan, looks: Looks) -> Array:
    """What was foretold, summed over all zones and over structural ones, its worst, and the number of bad results, (N, 4)."""
    structural = [plan.zones[z].structural == "yes" for z in looks.zones]
    table = looks.foretold
    return np.column_stack([table.sum(axis=0), table[structural].sum(axis=0), table.min(axis=0), looks.bad])


SHOWN = (
    ("original-paint",),
    ("surface-rust",),
    ("patch", "filler", "fresh-coating"),
    ("bubbling",),
    ("scale",),
    ("hole",),
)
"""Signs of a picture from the good one to the worst; any one of a row counts as the row."""
SPEAKS = np.array([signs[0] in ("bubbling", "scale", "hole") for signs in (*SHOWN[:1], ("",), *SHOWN[1:])])
"""Which outcomes of a picture tell of hidden metal, (7,)."""
