"""What an ask would show: its outcomes, and the chance of each given what the vehicle is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weldworth.asks.recorded import Recorded
from weldworth.asks.worth import PARTS, Observation, parts
from weldworth.belief.believe import Belief
from weldworth.belief.draws import Draws
from weldworth.belief.looking import worst_first
from weldworth.belief.network import Array
from weldworth.belief.pieces import Piece
from weldworth.belief.sight import Lexicon, Source, probe_signs, seen, sharpness
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.vehicle.plan import Plan, Zone

LIFTED = 3
_C = len(CONDITIONS)
WORSE = 2
"""The first row of what a probe foretells that is bad news: before it come a ring and a probe that tells nothing."""
LUCK = 5
"""Sets the luck of simulated looks apart from that of bill, resale and transport, which are drawn by the seed too."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture to ask for. quality : how well it usually shows, 0..1. delivered : how often one comes, on average, 0..1."""

    quality: float
    delivered: float


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


def refused_chances(refused: Array, delivered: float, prior: Array, least: float) -> Array:
    """P(the picture does not come | condition), (6,): likelier where there is something to hide, in the proportion of `refused`.

    prior : what is believed of the zone, (6,): on average over it the picture comes `delivered` of the time. least : how often it
    comes whatever there is to hide, 0..1.
    """
    return np.asarray(refused * min((1 - delivered) / float(prior @ refused), (1 - least) / float(refused.max())))


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


def of_picture(
    belief: Belief, recorded: Recorded, zone: Zone, draws: Draws, lex: Lexicon, photo: Photo, shown: Array
) -> Observation:
    """A picture of a zone, which also tells of up to two zones that it hides.

    recorded : the evidence of `belief`. shown : `shown_chances` of the zone. What is hidden makes a bad sign likelier or rarer
    than it is on the zone itself by what the tell says of it against what is believed of it.
    """
    plan, believed, asked = belief.plan, belief.zones, lex.sources["asked-picture"]
    tells = [tell for tell in plan.tells if tell.zone == zone.id and tell.hidden in plan.index]
    hidden = list({tell.hidden: tell.row for tell in tells}.items())[:2]
    tables = [recorded.picture(zone, shown, [signs[0] for signs in SHOWN])]
    for id, row in hidden:
        yes = photo.quality * lex.tells[row].chance + (1 - photo.quality) * lex.sight["blind_damage"]
        share = 1 / np.sqrt(sum(tell.row == row for tell in tells))
        told = np.exp(recorded.adds(Piece("", id, "", f"tell {row}", share * np.log(yes))))
        tables.append(np.where(SPEAKS[:, None], told / (believed[plan.index[id]] @ told), 1.0))
    zones = [plan.index[zone.id], *(plan.index[id] for id, _ in hidden)]
    category, chance = sort(draws.conditions[:, zones], tables)
    refused = recorded.sign(zone, "not-shown", asked, lex.signs["not-shown"].chance)
    missing = refused_chances(refused, photo.delivered, believed[zones[0]], lex.sight["least_delivered"])
    missing = np.repeat(missing, _C ** len(hidden))
    return Observation(category, np.vstack([chance * (1 - missing), missing]))


def sort(conditions: NDArray[np.int8], likelihoods: Sequence[Array]) -> tuple[NDArray[np.intp], Array]:
    """The category of each draw, (N,), and P(outcome | category) from the product of one table per zone, brought to one.

    conditions : (N, zones). likelihoods : one (outcomes, 6) table per zone.
    """
    category = np.zeros(len(conditions), dtype=np.intp)
    chance = np.ones((len(likelihoods[0]), 1))
    for column, table in zip(conditions.T, likelihoods, strict=True):
        category = category * _C + column
        chance = (chance[:, :, None] * table[:, None, :]).reshape(len(table), -1)
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


def visit_reports(
    belief: Belief, recorded: Recorded, reach: int, source: Source, draws: Draws, lex: Lexicon, payoff: Array, seed: int
) -> Array:
    """One simulated report per draw of an inspection that probes every zone up to an access, (N, 4) features."""
    zones = within_reach(belief.plan, reach)
    return report_of(belief.plan, looks_of(belief, recorded, zones, source, draws, lex, payoff, seed))


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


def looks_of(
    belief: Belief,
    recorded: Recorded,
    zones: Sequence[int],
    source: Source,
    draws: Draws,
    lex: Lexicon,
    payoff: Array,
    seed: int,
) -> Looks:
    """One simulated result per draw of probing each of `zones`, replaced by the payoff that this result alone foretells.

    recorded : the evidence of `belief`.
    """
    luck = np.random.default_rng([seed, LUCK]).random((len(zones), len(payoff)))
    usual = probe_chances(lex, source.exposed)
    chances = np.array([recorded.probe(belief.plan.zones[z], source, usual) for z in zones])
    place = draws.conditions.T[list(zones)] + _C * np.arange(len(zones))[:, None]
    result = np.zeros(luck.shape, dtype=np.intp)
    for bound in np.cumsum(chances, axis=1)[:, :-1].transpose(1, 0, 2):
        result += luck > bound.ravel().take(place)
    return Looks(tuple(zones), _foretold(result, len(usual), payoff), (result >= WORSE).sum(axis=0).astype(np.float64))


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
