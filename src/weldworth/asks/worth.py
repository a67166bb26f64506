"""Expected value of sample information of many asks at once, on joint draws of the vehicle.

Every draw n has a payoff u[n, k] of buying at price k against walking away (0), and every ask sorts the draws into
categories (the six conditions of a zone, say) with P(outcome | category). With S[c, k] the sum of payoffs in category c,

    worth = sum_k P(price k) * ( sum_o max(0, sum_c P(o | c) S[c, k]) - max(0, sum_c S[c, k]) ) / draws

which is never negative, since an outcome can always be ignored. Source: Raiffa and Schlaifer 1961, Applied Statistical
Decision Theory, preposterior analysis; the plain form is `asks.information.evsi`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from weldworth.belief.network import Array


@dataclass(frozen=True)
class Decision:
    """The decision that an ask may change: buy at the price that comes, or walk away.

    payoff : gain of buying over walking away in each draw at each price, (N, K), money.
    chance : probability of each price, (K,), sums to 1.
    """

    payoff: Array
    chance: Array

    @property
    def value(self) -> float:
        """Expected gain of deciding now, money."""
        return float(np.maximum(self.payoff.mean(axis=0), 0.0) @ self.chance)

    @property
    def perfect(self) -> float:
        """Expected gain of deciding with the draw known, money: no ask can lift the value above it."""
        return float(np.maximum(self.payoff, 0.0).mean(axis=0) @ self.chance)


@dataclass(frozen=True)
class Observation:
    """What one ask would show.

    category : category of each draw, (N,), or None where every draw is a category of its own.
    chance : P(outcome | category), (outcomes, categories), columns sum to 1.
    """

    category: NDArray[np.intp] | None
    chance: Array

    def first(self, draws: int) -> Observation:
        """The same for the first so many draws."""
        return (
            Observation(None, self.chance[:, :draws])
            if self.category is None
            else Observation(self.category[:draws], self.chance)
        )

    @property
    def per_draw(self) -> Array:
        """P(outcome | draw), (outcomes, N)."""
        return self.chance if self.category is None else self.chance.take(self.category, axis=1)


@dataclass(frozen=True, slots=True)
class Worth:
    """What an ask is worth before its cost, money, and how often it changes the decision, 0..1."""

    gain: float
    changes: float


def worth_of_each(decision: Decision, observations: Sequence[Observation]) -> list[Worth]:
    """The worth of each ask alone. Payoffs are summed per category first, all asks in one product."""
    draws = decision.payoff.shape[0]
    sorted_asks = [o for o in observations if o.category is not None]
    offsets = np.concatenate([[0], np.cumsum([o.chance.shape[1] for o in sorted_asks])]).astype(np.intp)
    rows = np.concatenate(
        [o.category + offset for o, offset in zip(sorted_asks, offsets[:-1], strict=True)] or [np.zeros(0, np.intp)]
    )
    columns = np.tile(np.arange(draws), len(sorted_asks))
    sort = csr_array((np.ones(rows.size), (rows, columns)), shape=(int(offsets[-1]), draws))
    payoff = np.column_stack([decision.payoff, np.ones(draws)])
    sums = sort @ payoff if rows.size else np.zeros((0, payoff.shape[1]))
    where = iter(pairwise(offsets))
    found = []
    for observation in observations:
        if observation.category is None:
            outcome = observation.chance @ payoff / draws
        else:
            low, high = next(where)
            outcome = observation.chance @ sums[low:high] / draws
        found.append(_worth(decision, outcome[:, :-1], outcome[:, -1]))
    return found


def _worth(decision: Decision, outcome: Array, chance: Array) -> Worth:
    """From E[payoff; outcome] at each price, (outcomes, K), and P(outcome)."""
    turned = (outcome > 0) != (outcome.sum(axis=0) > 0)
    return Worth(_gain(decision, outcome), float(chance @ turned @ decision.chance))


@dataclass(frozen=True)
class Joint:
    """Every joint outcome of a set of asks that is not negligible: P(outcome | draw), (outcomes, N)."""

    chance: Array

    @staticmethod
    def none(draws: int) -> Joint:
        """No ask: one outcome, certain."""
        return Joint(np.ones((1, draws)))

    def and_then(self, observation: Observation, least: float = 1e-3) -> Joint:
        """With one more ask. Outcomes rarer than `least` are merged into one, which can only understate the worth."""
        joined = (self.chance[:, None, :] * observation.per_draw[None, :, :]).reshape(-1, self.chance.shape[1])
        rare = joined.mean(axis=1) < least
        if rare.sum() > 1:
            joined = np.vstack([joined[~rare], joined[rare].sum(axis=0)])
        return Joint(joined)

    def worth_with(self, decision: Decision, observation: Observation) -> float:
        """Expected gain of this set and one more ask over deciding now, before cost, money."""
        return _gain(decision, self.outcomes_with(decision.payoff, observation))

    def outcomes_with(self, values: Array, observation: Observation) -> Array:
        """E[values; outcome] of this set and one more ask, without building the joint. values : (N, K). Returns (outcomes, K)."""
        draws = values.shape[0]
        if observation.category is None:
            return np.asarray(np.concatenate([(self.chance * row) @ values for row in observation.chance]) / draws)
        order = np.argsort(observation.category, kind="stable")
        edges = np.searchsorted(observation.category[order], np.arange(observation.chance.shape[1] + 1))
        sums = np.array([self.chance[:, order[a:b]] @ values[order[a:b]] for a, b in pairwise(edges)])
        return np.asarray(np.tensordot(observation.chance, sums, axes=1).reshape(-1, values.shape[1]) / draws)


def worth_of_set(decision: Decision, joint: Joint) -> float:
    """Expected gain of a whole set of asks over deciding now, before cost, money; never negative."""
    return _gain(decision, joint.chance @ decision.payoff / decision.payoff.shape[0])


def _gain(decision: Decision, outcome: Array) -> float:
    """From E[payoff; outcome] at each price, (outcomes, K)."""
    total = outcome.sum(axis=0)
    return max(0.0, float((np.maximum(outcome, 0.0).sum(axis=0) - np.maximum(total, 0.0)) @ decision.chance))


def choose(
    decision: Decision,
    observations: Sequence[Observation],
    costs: Sequence[float],
    *,
    most: int,
    consider: int = 12,
    paired: int = 6,
) -> list[tuple[int, float]]:
    """The best set of at most `most` asks, each step judged jointly with those already chosen.

    Returns (index, joint worth so far before cost, money) in the order chosen; stops when no further ask adds more than it
    costs. Each total is taken before rare outcomes are merged and needs to beat the one before it, so totals never fall. The
    `consider` asks worth most alone are tried. The set is grown from the best single ask, from the best pair of the first
    `paired`, and by what tells most of the payoff (see `_telling`), and the best of the three is kept: asks may matter only
    together.
    """
    alone = [worth.gain - cost for worth, cost in zip(worth_of_each(decision, observations), costs, strict=True)]
    ranked = sorted(range(len(observations)), key=lambda i: (-alone[i], i))[:consider]
    start = Joint.none(decision.payoff.shape[0])
    singles = _grow(decision, observations, costs, ranked, start, [], most)
    pairs = [(i, j) for n, i in enumerate(ranked[:paired]) for j in ranked[n + 1 : paired]] if most >= 2 else []
    firsts = {i: start.and_then(observations[i]) for i in ranked[:paired]}
    worths = {(i, j): firsts[i].worth_with(decision, observations[j]) - costs[i] - costs[j] for i, j in pairs}
    found = [singles]
    if pairs and max(worths.values()) > 0:
        i, j = max(pairs, key=lambda pair: worths[pair])
        joint = firsts[i].and_then(observations[j])
        begun = [(i, worth_of_set(decision, firsts[i])), (j, firsts[i].worth_with(decision, observations[j]))]
        found.append(_grow(decision, observations, costs, ranked, joint, begun, most))
    found.append(_telling(decision, observations, costs, most, consider))

    def net(chosen: list[tuple[int, float]]) -> float:
        return chosen[-1][1] - sum(costs[i] for i, _ in chosen) if chosen else 0.0

    best = found[0]
    for one in found[1:]:
        best = one if net(one) > net(best) + 1e-9 else best
    return best


def _telling(
    decision: Decision, observations: Sequence[Observation], costs: Sequence[float], most: int, consider: int
) -> list[tuple[int, float]]:
    """The asks that together tell most of the payoff, as far as they pay together.

    Where a price lies far from what buying is worth, no ask alone turns the decision and every one of them looks worthless; a
    few good answers together do turn it. So the set grows by the variance of the payoff that it explains, whatever it gains on
    the way, and is then cut where its joint worth less its cost is highest.
    """
    value = np.column_stack([decision.payoff @ decision.chance, np.ones(decision.payoff.shape[0])])

    def told(joint: Joint, i: int) -> float:
        mean, chance = joint.outcomes_with(value, observations[i]).T
        return float((mean[chance > 0] ** 2 / chance[chance > 0]).sum())

    joint = Joint.none(value.shape[0])
    alone = [told(joint, i) for i in range(len(observations))]
    free = sorted(range(len(observations)), key=lambda i: (-alone[i], i))[:consider]
    chosen: list[tuple[int, float]] = []
    nets = [0.0]
    while free and len(chosen) < most:
        i = max(free, key=lambda one: told(joint, one))
        free.remove(i)
        total = max(joint.worth_with(decision, observations[i]), chosen[-1][1] if chosen else 0.0)
        joint = joint.and_then(observations[i])
        chosen.append((i, total))
        nets.append(total - sum(costs[one] for one, _ in chosen))
    return chosen[: int(np.argmax(nets))]


def _grow(
    decision: Decision,
    observations: Sequence[Observation],
    costs: Sequence[float],
    ranked: Sequence[int],
    joint: Joint,
    chosen: list[tuple[int, float]],
    most: int,
) -> list[tuple[int, float]]:
    chosen = list(chosen)
    total = chosen[-1][1] if chosen else 0.0
    while len(chosen) < most:
        taken = {index for index, _ in chosen}
        free = [i for i in ranked if i not in taken]
        gains = [joint.worth_with(decision, observations[i]) - total - costs[i] for i in free]
        if not gains or max(gains) <= 0:
            break
        i = free[int(np.argmax(gains))]
        total = total + gains[free.index(i)] + costs[i]
        joint = joint.and_then(observations[i])
        chosen.append((i, total))
    return chosen


PARTS = 8
"""What is learnt from the draws is tried on others: on each of so many parts what the rest taught."""


def parts(draws: int) -> NDArray[np.intp]:
    """The part that each draw belongs to, 0 to `PARTS` - 1, (draws,)."""
    return np.arange(draws, dtype=np.intp) % PARTS


def worth_of_visit(decision: Decision, reports: Array) -> Worth:
    """Worth of a whole inspection from one simulated report per draw, by regression.

    reports : what each draw's report foretells of its payoff, as numbers, (N, features). E[payoff | report] is fitted by
    least squares on the features and their squares; the fit stands for the payoff in the decision. Each part of the draws is
    judged by what the rest of them taught, so that chance does not pass for knowledge.
    Source: Strong, Oakley, Brennan and Breeze 2015, Medical Decision Making 35(5), 570-583; judged on other draws than those
    that taught it: Stone 1974, J. R. Statist. Soc. B 36(2), 111-147.
    """
    scaled = (reports - reports.mean(axis=0)) / np.maximum(reports.std(axis=0), 1e-12)
    design = np.column_stack([np.ones(len(scaled)), scaled, scaled**2])
    part = parts(len(scaled))
    rows = [np.flatnonzero(part == number) for number in range(PARTS)]
    squares = np.array([design[row].T @ design[row] for row in rows])
    products = np.array([design[row].T @ decision.payoff[row] for row in rows])
    fitted = np.empty_like(decision.payoff)
    for number, row in enumerate(rows):
        square = squares.sum(axis=0) - squares[number]
        ridge = 1e-9 * np.trace(square) * np.eye(len(square))
        fitted[row] = design[row] @ np.linalg.solve(square + ridge, products.sum(axis=0) - products[number])
    total = decision.payoff.mean(axis=0)
    gain = float((np.maximum(fitted, 0.0).mean(axis=0) - np.maximum(total, 0.0)) @ decision.chance)
    return Worth(max(0.0, gain), float(((fitted > 0) != (total > 0)).mean(axis=0) @ decision.chance))
