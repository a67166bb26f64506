"""The value of information against published worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from weldworth.asks.information import evpi, evsi
from weldworth.core.errors import BadInput

# Oil wildcatter: Raiffa, H. (1968) Decision Analysis; structure, test cost 10, drill cost 70 and rewards 0/120/270
# thousand dollars as at https://camvac.hugin.com/index.php/Oil_Wildcatter ; conditional table of the seismic sounding
# (closed, open, no structure given dry, wet, soaking) as in the SAS/OR user's guide, DTREE procedure,
# http://support.sas.com/documentation/cdl/en/orpmug/66109/HTML/default/orpmug_dtree_gettingstarted05.htm
PRIOR = np.array([0.5, 0.3, 0.2])
SOUNDING = np.array([[0.1, 0.3, 0.5], [0.3, 0.4, 0.4], [0.6, 0.3, 0.1]])
DRILL_OR_NOT = np.array([[-70.0, 50.0, 200.0], [0.0, 0.0, 0.0]])


def test_the_oil_wildcatter_pays_up_to_12_500_for_the_sounding_and_35_000_for_certainty() -> None:
    assert float((DRILL_OR_NOT @ PRIOR).max()) == pytest.approx(20.0, abs=1e-12)
    assert float(evsi(PRIOR, SOUNDING, DRILL_OR_NOT)) == pytest.approx(12.5, abs=1e-12)
    assert float(evpi(PRIOR, DRILL_OR_NOT)) == pytest.approx(35.0, abs=1e-12)
    assert float(evsi(PRIOR, SOUNDING, DRILL_OR_NOT)) > 10.0


# The same sounding with an uncertain cost of drilling: 150/300/500 with chances .2/.6/.2, revenue 0/700/1,200, sounding
# 60 thousand dollars. SAS/OR user's guide, DTREE procedure (as above), which prints $155,000 for perfect information on
# the oil; 40.1 for the sounding is worked out from those numbers.
COST, COST_CHANCE = np.array([150.0, 300.0, 500.0]), np.array([0.2, 0.6, 0.2])
REVENUE = np.array([0.0, 700.0, 1200.0])


def test_with_a_dear_sounding_and_an_uncertain_cost_the_verdict_reverses() -> None:
    payoff = np.stack([REVENUE - COST @ COST_CHANCE, np.zeros(3)])
    assert float((payoff @ PRIOR).max()) == pytest.approx(140.0, abs=1e-9)
    assert float(evpi(PRIOR, payoff)) == pytest.approx(155.0, abs=1e-9)
    assert float(evsi(PRIOR, SOUNDING, payoff)) == pytest.approx(40.1, abs=1e-9)
    assert float(evsi(PRIOR, SOUNDING, payoff)) < 60.0


def test_knowing_the_oil_and_the_cost_is_worth_less_than_the_two_added_up() -> None:
    joint = np.outer(PRIOR, COST_CHANCE).ravel()
    payoff = np.stack([(REVENUE[:, None] - COST[None, :]).ravel(), np.zeros(9)])
    knows_oil = np.repeat(np.eye(3), 3, axis=1)
    knows_cost = np.tile(np.eye(3), 3)
    oil, cost = float(evsi(joint, knows_oil, payoff)), float(evsi(joint, knows_cost, payoff))
    assert (oil, cost) == (pytest.approx(155.0, abs=1e-9), pytest.approx(10.0, abs=1e-9))
    assert float(evpi(joint, payoff)) == pytest.approx(155.0, abs=1e-9)


chances = st.integers(2, 5).flatmap(
    lambda states: st.tuples(
        arrays(float, states, elements=st.floats(0.01, 1.0)),
        arrays(float, (3, states), elements=st.floats(0.01, 1.0)),
        arrays(float, (4, states), elements=st.floats(-1e5, 1e5)),
    )
)


@given(chances)
def test_looking_is_never_worth_less_than_nothing_nor_more_than_knowing(
    case: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> None:
    prior, likelihood, payoff = case[0] / case[0].sum(), case[1] / case[1].sum(axis=0), case[2]
    worth = float(evsi(prior, likelihood, payoff))
    assert 0.0 <= worth <= float(evpi(prior, payoff)) + 1e-6


@given(chances)
def test_a_coarser_look_is_never_worth_more(case: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    prior, likelihood, payoff = case[0] / case[0].sum(), case[1] / case[1].sum(axis=0), case[2]
    coarse = np.stack([likelihood[0] + likelihood[1], likelihood[2]])
    assert float(evsi(prior, coarse, payoff)) <= float(evsi(prior, likelihood, payoff)) + 1e-6


def test_a_look_that_says_the_same_in_every_state_is_worth_nothing() -> None:
    assert float(evsi(PRIOR, np.full((4, 3), 0.25), DRILL_OR_NOT)) == pytest.approx(0.0, abs=1e-12)


def test_many_looks_at_once_are_worth_what_they_are_worth_one_by_one() -> None:
    looks = np.stack([SOUNDING, SOUNDING[::-1], np.eye(3)])
    together = evsi(PRIOR, looks, DRILL_OR_NOT)
    assert together == pytest.approx([float(evsi(PRIOR, look, DRILL_OR_NOT)) for look in looks], abs=1e-12)
    assert together[2] == pytest.approx(float(evpi(PRIOR, DRILL_OR_NOT)), abs=1e-12)


@pytest.mark.parametrize(
    ("prior", "likelihood", "payoff", "about"),
    [
        ([0.5, 0.6], np.eye(2), np.eye(2), ["prior"]),
        ([1.5, -0.5], np.eye(2), np.eye(2), ["prior"]),
        ([0.5, 0.5], [[0.5, 0.5], [0.4, 0.5]], np.eye(2), ["likelihood"]),
        ([0.5, 0.5], np.eye(3), np.eye(2), ["likelihood"]),
        ([0.5, 0.5], np.eye(2), np.eye(3), ["payoff"]),
        ([0.5, 0.5], np.eye(2), [[np.nan, 0.0]], ["payoff"]),
        ([0.5, 0.6], np.eye(2), np.eye(3), ["prior", "payoff"]),
    ],
)
def test_what_is_no_decision_is_refused_with_all_that_is_wrong(
    prior: object, likelihood: object, payoff: object, about: list[str]
) -> None:
    with pytest.raises(BadInput) as refusal:
        evsi(prior, likelihood, payoff)  # type: ignore[arg-type]
    assert [problem.where for problem in refusal.value.problems] == about
