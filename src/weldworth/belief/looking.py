"""Several signs reported by one look at one zone: how likely each set of them is in each condition.

The table gives P(sign | condition) of each sign by itself, and the signs are not exclusive: metal may sound dull and give way to
the probe. What one look reports is therefore a set of signs. The good sign of the look (it rings) leaves no room for the others;
where it is not reported the others are independent given the condition, each as likely as leaves its own row as it stands:

    P(bad | not good, condition) = P(bad | condition) / (1 - P(good | condition))

So every single sign counts exactly as its row says, and the sets are a partition: their chances sum to 1 in every condition.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from weldworth.belief.network import Array

PROBED = ("rings", "dull", "dents", "goes-through")
"""What tapping and probing may report, the good sign first, the worst last."""


@dataclass(frozen=True, slots=True)
class Probed:
    """One sign that a look with the probe reported, there or absent.

    look : the same for all that one look reported at its zone. sets : chance of each set of signs, see `chances_of_sets`.
    """

    look: Hashable
    sign: str
    absent: bool
    sets: Array


@lru_cache(maxsize=8)
def held(signs: int) -> NDArray[np.bool_]:
    """Which signs each set holds, (1 + 2^(signs - 1), signs): the good one alone, then every set of the others."""
    bad = list(product((False, True), repeat=signs - 1))
    found = np.array([(True, *[False] * (signs - 1)), *((False, *one) for one in bad)])
    found.setflags(write=False)
    return found


def chances_of_sets(reported: Array) -> Array:
    """P(set of signs reported | condition), rows as in `held`, columns sum to 1.

    reported : P(sign reported | condition) of each sign, the good one first, (signs, 6). Where the rows leave no room for a bad
    sign beside the good one, it is taken for as likely as there is room.
    """
    room, share = _beside(reported)
    rest = [room * np.prod(np.where(one[1:, None], share, 1 - share), axis=0) for one in held(len(reported))[1:]]
    return np.vstack([reported[0], *rest])


def worst_first(reported: Array) -> Array:
    """P(what is the worst that a look reports | condition), (signs + 1, 6), columns sum to 1.

    reported : as in `chances_of_sets`, the worst sign last. Rows: the good sign, none of the signs, then each bad sign with none
    of the worse ones. The same as summing `chances_of_sets` over the sets that `words_of` fit, faster.
    """
    room, share = _beside(reported)
    without = np.cumprod((1 - share)[::-1], axis=0)[::-1]
    worse = np.vstack([without[1:], np.ones_like(room)])
    return np.vstack([reported[0], room * without[0], room * share * worse])


def words_of(signs: Sequence[str]) -> tuple[tuple[tuple[str, bool], ...], ...]:
    """What is said for each row of `worst_first`: signs, and whether each is said to be absent."""
    none = tuple((sign, True) for sign in signs)
    return ((signs[0], False),), none, *(((sign, False), *none[i + 2 :]) for i, sign in enumerate(signs[1:]))


def _beside(reported: Array) -> tuple[Array, Array]:
    """P(good sign not reported | condition), (6,), and P(bad sign reported | that, condition), (signs - 1, 6)."""
    room = 1 - reported[0]
    return room, np.minimum(np.divide(reported[1:], room, out=np.zeros_like(reported[1:]), where=room > 0), 1.0)


def chance_of(signs: Sequence[str], sets: Array, said: Iterable[tuple[str, bool]]) -> Array:
    """P(a look reports all that was said of it | condition), (6,).

    signs : names, the good one first. said : sign and whether it was said to be absent. What was found stands against the same
    sign absent, and a bad sign against the good one: that speaks of another place in the zone.
    """
    found = {sign for sign, absent in said if not absent}
    if len(found) > 1:
        found.discard(signs[0])
    missing = {sign for sign, absent in said if absent} - found
    has = held(len(signs))
    agree = np.ones(len(has), dtype=np.bool_)
    for wanted, names in ((True, found), (False, missing)):
        for name in names:
            agree &= has[:, signs.index(name)] == wanted
    return np.asarray(sets[agree].sum(axis=0))


def said_by(probes: Sequence[Probed]) -> Array:
    """Likelihood of all that one look with the probe reported, given each condition, (6,)."""
    return chance_of(PROBED, probes[0].sets, [(probe.sign, probe.absent) for probe in probes])
