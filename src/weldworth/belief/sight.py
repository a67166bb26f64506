"""What a sign says about a condition once it has passed through the eye that saw it.

P(sign reported | condition) = q * P(sign | condition) + (1 - q) * f, with q how well the look could have shown the sign and f
the chance of reporting it blind, the same for every condition: a bad picture weakens evidence toward nothing and can
never turn it round. Absence is one minus that. Formulas and limits: docs/method.md, "Evidence".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import ndtr

from weldworth.belief.looking import PROBED, chances_of_sets
from weldworth.belief.network import Array, Network, settings
from weldworth.tables import Row, Tables
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.vehicle.plan import Zone


@dataclass(frozen=True, slots=True)
class Sign:
    """One row of signs.csv: its kind (clean, rust, cover, ...) and P(sign | condition), (6,)."""

    id: str
    meaning: str
    kind: str
    chance: Array


@dataclass(frozen=True, slots=True)
class Source:
    """One row of sources.csv: P(shows bad | holed) on exposed and on hidden metal, and whether it only repeats words."""

    id: str
    name: str
    exposed: float
    hidden: float
    kind: str


@dataclass(frozen=True)
class Lexicon:
    """The sign, tell and source tables, read once."""

    signs: Mapping[str, Sign]
    tells: Mapping[str, Sign]
    sources: Mapping[str, Source]
    sight: Mapping[str, float]
    damping: Mapping[str, float]
    old: Mapping[str, float]
    readings: Mapping[str, float]
    repair_reach: tuple[float, float]


@lru_cache(maxsize=8)
def lexicon(tables: Tables) -> Lexicon:
    """Read signs.csv, tells.csv, sources.csv and their settings; raises BadInput with every problem of a table."""
    signs = {
        row.text("sign"): Sign(row.text("sign"), row.text("meaning"), row.text("kind"), _six(row))
        for row in tables.rows("signs.csv", ("sign", "meaning", "kind", *CONDITIONS))
    }
    tells = {
        row.text("tell"): Sign(row.text("tell"), row.text("meaning"), "tell", _six(row))
        for row in tables.rows("tells.csv", ("tell", "meaning", *CONDITIONS))
    }
    sources = {
        row.text("observer"): Source(
            row.text("observer"),
            row.text("words"),
            row.number("exposed", low=0, high=1),
            row.number("hidden", low=0, high=1),
            row.text("kind"),
        )
        for row in tables.rows("sources.csv", SOURCE_COLUMNS)
    }
    reach = settings(tables, "repair")
    return Lexicon(
        signs,
        tells,
        sources,
        settings(tables, "sight"),
        settings(tables, "damping"),
        settings(tables, "old"),
        settings(tables, "readings"),
        (reach["pitted"], reach["holed"]),
    )


def _six(row: Row) -> Array:
    return np.array([row.number(condition, low=0, high=1) for condition in CONDITIONS])


SOURCE_COLUMNS = ("observer", "words", "exposed", "hidden", "false_alarm", "kind")


def sharpness(
    lex: Lexicon,
    source: Source,
    zone: Zone,
    sign: Sign,
    *,
    absent: bool,
    quality: float | None,
    measured: bool = False,
) -> float:
    """q: how well this look at this zone could have shown this sign, 0..1.

    A stated quality says how sharp and how whole the look was; it is scaled by how far the source is trusted against a
    picture taken to instructions. Without one the source's usual figure serves (that of hidden metal where somebody only
    speaks of metal out of sight). Then, and where the quality was only `measured` on the picture, which does not tell how whole
    the look was, good news or absence covers only the part of the zone that lies open. A zone that rusts from inside is never
    cleared by its outer face: good news counts for less there. Damage seen is damage.
    """
    if sign.kind == "refusal":
        return 1.0
    good_news = (sign.kind == "clean" or absent) and sign.kind not in ("probe", "box")
    if quality is None:
        q = source.hidden if source.kind == "words" and zone.view == "hidden" else source.exposed
    else:
        q = quality * min(1.0, source.exposed / lex.sight["full_trust"])
    if good_news and (quality is None or measured):
        q *= lex.sight[f"seen_{zone.view}"]
    return q * lex.sight["seen_inside"] if good_news and zone.inside else q


HOLES = ("hole", "soft", "goes-through")
"""Signs of a hole: a hole in a bad picture is still a hole. Nobody reports one blind more often than on sound metal."""


def blind(lex: Lexicon, sign: Sign) -> float:
    """f: the chance of reporting the sign when the look could not have shown it."""
    if sign.id in HOLES:
        return float(sign.chance[0])
    good_news = sign.kind == "clean" or sign.id in ("rings", "box-clean")
    return lex.sight["blind_clean"] if good_news else lex.sight["blind_damage"]


def seen(lex: Lexicon, sign: Sign, q: float, *, absent: bool) -> Array:
    """Likelihood of the report given each condition, (6,)."""
    reported = q * sign.chance + (1 - q) * blind(lex, sign)
    return 1 - reported if absent else reported


def probe_sets(lex: Lexicon, q: float) -> Array:
    """P(set of signs that a look with the probe reports | condition), rows as in `looking.held`, columns sum to 1."""
    return chances_of_sets(probe_signs(lex, q))


def probe_signs(lex: Lexicon, q: float) -> Array:
    """P(result of a probe reported | condition) of each result by itself, in the order of `PROBED`, (4, 6)."""
    return np.array([seen(lex, lex.signs[sign], q, absent=False) for sign in PROBED])


def aged(lex: Lexicon, network: Network, z: int, likelihood: Array, growth: float) -> Array:
    """The same for something seen when the metal was younger: likelihood given the condition of today, (6,).

    growth : ln(E now / E then). What was seen speaks of the condition then; P(then | now) follows from the zone's prior damage.
    Most repairs came after the picture, so a zone mended or masked today showed its damage then.
    """
    edges = (network.thresholds - network.mean[z]) / network.total[z]
    shift = growth / network.total[z]
    now = np.concatenate([[-np.inf], edges, [np.inf]])
    then = np.concatenate([[-np.inf], edges + shift, [np.inf]])
    low = np.maximum(now[:-1, None], then[None, :-1])
    high = np.minimum(now[1:, None], then[None, 1:])
    joint = np.where(high > low, ndtr(high) - ndtr(low), 0.0)
    marginal = joint.sum(axis=1)
    before = joint @ likelihood[:4] / np.maximum(marginal, 1e-300)
    reached = marginal[2:] * np.array(lex.repair_reach)
    rusty = float(before[2:] @ reached / max(reached.sum(), 1e-300))
    since = lex.old["repaired_since"]
    repaired = since * rusty + (1 - since) * likelihood[4:]
    return np.concatenate([before, repaired])
