"""The fast engine of the asks against published examples, the plain formula, and what must hold whatever the numbers."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from weldworth.asks.information import evsi
from weldworth.asks.worth import Decision, Joint, Observation, choose, worth_of_each, worth_of_set, worth_of_visit

WILDCATTER = np.repeat([0, 1, 2], [500, 300, 200])
"""Dry, wet, soaking with the priors 0.5, 0.3, 0.2 as a thousand equal draws."""
DRILL = np.array([-70.0, 50.0, 200.0])[WILDCATTER][:, None]
SEISMIC = np.array([[0.6, 0.3, 0.1], [0.3, 0.4, 0.4], [0.1, 0.3, 0.5]])


def test_the_oil_wildcatter_has_the_published_values_of_sample_and_of_perfect_information():
    """EVSI 12.5, EVPI 35 thousand dollars. Raiffa 1968, Decision Analysis; Shenoy 1992; table of the test as in the SAS/OR
    DTREE documentation. Priors from memory, recomputed."""
    decision = Decision(DRILL, np.array([1.0]))
    found = worth_of_each(decision, [Observation(WILDCATTER, SEISMIC), Observation(None, SEISMIC[:, WILDCATTER])])
    assert [round(worth.gain, 6) for worth in found] == [12.5, 12.5]
    assert decision.perfect - decision.value == pytest.approx(35)
    assert found[0].changes == pytest.approx(0.41)


def test_the_wildcatter_with_uncertain_cost_does_not_pay_for_the_sounding():
    """EVPI 155, EVSI 40.1 below its cost of 60 thousand dollars: the verdict reverses. SAS/OR DTREE sample dtreeg01."""
    cost, oil = np.meshgrid([150.0, 300.0, 500.0], [0.0, 700.0, 1200.0], indexing="ij")
    chance = np.outer([0.2, 0.6, 0.2], [0.5, 0.3, 0.2])
    count = np.round(chance * 100).astype(int).ravel()
    payoff = np.repeat((oil - cost).ravel(), count)[:, None]
    category = np.repeat(np.tile([0, 1, 2], 3), count)
    decision = Decision(payoff, np.array([1.0]))
    assert worth_of_each(decision, [Observation(category, np.eye(3))])[0].gain == pytest.approx(155)
    assert worth_of_each(decision, [Observation(category, SEISMIC)])[0].gain == pytest.approx(40.1, abs=0.05)


def some(seed: int, draws: int = 400, asks: int = 4) -> tuple[Decision, list[Observation]]:
    rng = np.random.default_rng(seed)
    hidden = rng.integers(0, 3, (draws, asks))
    payoff = (hidden @ rng.normal(0, 200, asks))[:, None] + rng.normal(0, 100, (draws, 1)) - rng.normal(0, 150, 5)
    tables = [rng.dirichlet(np.ones(3), size=3).T for _ in range(asks)]
    return Decision(payoff, np.full(5, 0.2)), [Observation(hidden[:, i], tables[i]) for i in range(asks)]


@given(st.integers(0, 10_000))
def test_the_engine_agrees_with_the_plain_formula_and_asking_is_never_worth_less_than_nothing(seed):
    decision, observations = some(seed)
    prior = np.full(len(decision.payoff), 1 / len(decision.payoff))
    for observation, worth in zip(observations, worth_of_each(decision, observations), strict=True):
        plain = [evsi(prior, observation.per_draw, np.vstack([np.zeros(len(prior)), column])) for column in decision.payoff.T]
        assert worth.gain == pytest.approx(np.mean(plain), abs=1e-6)
        assert 0 <= worth.gain <= decision.perfect - decision.value + 1e-9
        assert 0 <= worth.changes <= 1


@given(st.integers(0, 10_000))
def test_one_more_ask_never_takes_worth_from_a_set(seed):
    decision, observations = some(seed)
    joint, last = Joint.none(len(decision.payoff)), 0.0
    for observation in observations:
        foreseen = joint.worth_with(decision, observation)
        joint = joint.and_then(observation, least=0.0)
        worth = worth_of_set(decision, joint)
        assert worth == pytest.approx(foreseen, abs=1e-6)
        assert worth >= last - 1e-9
        last = worth
    assert last <= decision.perfect - decision.value + 1e-9


def test_the_chosen_set_is_the_best_of_all_sets_of_its_size():
    """Against trying every set of two, on thirty random decisions."""
    for seed in range(30):
        decision, observations = some(seed, draws=150)
        costs = [5.0] * len(observations)
        chosen = choose(decision, observations, costs, most=2)
        net = chosen[-1][1] - 5.0 * len(chosen) if chosen else 0.0
        none = Joint.none(len(decision.payoff))
        pairs = [
            worth_of_set(decision, none.and_then(observations[i], 0.0).and_then(observations[j], 0.0)) - 10.0
            for i, j in product(range(4), range(4))
            if i < j
        ]
        singles = [worth.gain - 5.0 for worth in worth_of_each(decision, observations)]
        assert net >= max(*pairs, *singles, 0.0) - 0.02 * max(1.0, *pairs)


def test_the_worth_of_a_growing_set_never_falls_though_rare_outcomes_are_merged():
    """Six asks of eight outcomes each: far more joint outcomes than are kept apart."""
    for seed in range(20):
        rng = np.random.default_rng(seed)
        payoff = rng.normal(0, 1000, (2000, 1))
        observations = [
            Observation(np.digitize(payoff[:, 0] + rng.normal(0, 2000, 2000), range(-2100, 2800, 700)), np.eye(8))
            for _ in range(6)
        ]
        decision = Decision(payoff, np.array([1.0]))
        totals = [total for _, total in choose(decision, observations, [0.1] * 6, most=6)]
        assert len(totals) >= 2 and all(later > earlier for earlier, later in pairwise(totals))
        assert totals[-1] <= decision.perfect - decision.value


def test_two_asks_that_matter_only_together_are_found():
    """Two coins; buying pays only when both show heads, and either alone tells nothing worth acting on."""
    coins = np.array(list(product([0, 1], [0, 1])) * 100)
    payoff = np.where(coins.sum(axis=1) % 2 == 0, 100.0, -100.0)[:, None] - 1e-3
    decision = Decision(payoff, np.array([1.0]))
    observations = [Observation(coins[:, 0], np.eye(2)), Observation(coins[:, 1], np.eye(2))]
    assert max(worth.gain for worth in worth_of_each(decision, observations)) < 1e-6
    chosen = choose(decision, observations, [1.0, 1.0], most=2)
    assert [index for index, _ in chosen] == [0, 1]
    assert chosen[-1][1] == pytest.approx(50, abs=0.01)


def test_an_ask_that_says_what_another_said_already_is_not_chosen_beside_it():
    decision, observations = some(3)
    certain = Observation(observations[0].category, np.eye(3))
    chosen = choose(decision, [certain, certain], [1.0, 1.0], most=2)
    assert len(chosen) <= 1


def test_nothing_is_chosen_when_nothing_pays_for_itself():
    decision, observations = some(4)
    assert choose(decision, observations, [1e9] * len(observations), most=3) == []
    assert worth_of_each(decision, []) == []


def test_a_visit_by_regression_agrees_with_the_exact_value_where_both_can_be_had():
    """Payoff v ~ N(m, s1^2), report v + N(0, s2^2): closed form E[max(0, v')] with v' the posterior mean."""
    rng = np.random.default_rng(6)
    value = rng.normal(-300, 1000, 40_000)
    report = value + rng.normal(0, 700, value.size)
    found = worth_of_visit(Decision(value[:, None], np.array([1.0])), report[:, None])
    spread = 1000**2 / np.hypot(1000, 700)
    exact = spread * norm.pdf(-300 / spread) - 300 * norm.cdf(-300 / spread)
    assert found.gain == pytest.approx(exact, rel=0.04)


def test_asks_that_matter_only_all_together_are_found_among_cheaper_useless_ones():
    """Buying pays only where four coins all show heads; no one, two of them turn the decision. By hand: 1/16 of 100 in all."""
    coins = np.array(list(product([0, 1], repeat=4)) * 64)
    noise = np.random.default_rng(5).integers(0, 2, (len(coins), 9))
    decision = Decision(np.where(coins.all(axis=1), 100.0, -50.0)[:, None], np.array([1.0]))
    observations = [Observation(side, np.eye(2)) for side in (*noise.T, *coins.T)]
    chosen = choose(decision, observations, [0.1] * 9 + [0.5] * 4, most=5)
    assert sorted(index for index, _ in chosen) == [9, 10, 11, 12]
    assert chosen[-1][1] == pytest.approx(100 / 16)
