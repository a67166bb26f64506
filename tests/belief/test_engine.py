"""The engine against an independent exact engine, closed forms, a slow sampling twin, and itself at twice the order."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from agrum import Agrum
from scipy.stats import multivariate_normal, norm
from vehicles import BODIES, network_of, random_evidence

from weldworth.belief.believe import orders
from weldworth.belief.draws import draw
from weldworth.belief.engine import Evidence, Kept, Orders, Posterior, damage_classes, infer, infer_zone
from weldworth.belief.network import Network, repair_prior
from weldworth.core.errors import BadInput
from weldworth.tables import load_tables

SMALL = Orders(4, 3, 3)
USUAL = orders(load_tables())


@pytest.mark.parametrize("body", BODIES)
def test_every_marginal_agrees_with_an_independent_exact_engine(body):
    network = network_of(body)
    other = Agrum(network, SMALL)
    rng = np.random.default_rng(20261101)
    for _ in range(20):
        evidence = random_evidence(network, rng)
        ours = infer(network, evidence, SMALL).zones
        assert np.abs(ours - other.marginals(evidence)).max() < 1e-6


def test_one_zone_alone_agrees_with_an_independent_exact_engine_while_factors_are_kept_from_one_evidence_to_the_next():
    network, rng, kept = network_of(BODIES[0]), np.random.default_rng(20261126), Kept()
    other, damage = Agrum(network, SMALL), damage_classes(network, SMALL)
    for _ in range(5):
        evidence = random_evidence(network, rng)
        theirs = other.marginals(evidence)
        for zone in {*list(evidence.zones)[:4], 0, len(network.zones) - 1}:
            alone = infer_zone(network, evidence, SMALL, damage, zone, kept)
            assert np.abs(alone - theirs[zone]).max() < 1e-6


@pytest.mark.parametrize("body", BODIES)
def test_twice_the_quadrature_order_moves_no_marginal_by_more_than_a_thousandth(body):
    network = network_of(body)
    rng = np.random.default_rng(20261102)
    for findings in (0, 5, 25):
        evidence = random_evidence(network, rng, findings)
        twice = Orders(2 * USUAL.vehicle, 2 * USUAL.group, 2 * USUAL.family)
        assert np.abs(infer(network, evidence, USUAL).zones - infer(network, evidence, twice).zones).max() < 1e-3


def one_factor(network: Network) -> Network:
    """The same zones with nothing shared but the whole vehicle's effect, no cause of their own, no repairs."""
    own = np.sqrt(network.group**2 + network.family**2 + network.own**2)
    still = np.zeros_like(network.mean)
    none = np.zeros_like(network.mended)
    return replace(network, group=still, family=still, own=own, local=0.0, mended=none, masked=none)


def test_two_zones_with_one_shared_effect_agree_with_the_bivariate_normal():
    network = one_factor(network_of("open-tub"))
    a, b = 3, 20
    holed = np.array([0.0, 0.0, 0.0, 1.0, 0.0, 0.0])
    posterior = infer(network, Evidence({a: holed}), Orders(60, 1, 1)).zones[b]
    sigma = [np.hypot(network.vehicle[z], network.own[z]) for z in (a, b)]
    shared = network.vehicle[a] * network.vehicle[b]
    both = multivariate_normal([-network.mean[a], -network.mean[b]], [[sigma[0] ** 2, shared], [shared, sigma[1] ** 2]])
    limit = -network.thresholds[2]
    expected = both.cdf([limit, limit]) / norm.cdf(limit, -network.mean[a], sigma[0])
    assert posterior[3] == pytest.approx(expected, abs=1e-5)


def test_without_evidence_each_zone_has_its_own_normal_prior():
    """The prior table: v = 3, E = 1 gives 0.89 / 0.63 / 0.38 at least surface, pitted, holed; common practice, no source."""
    network = one_factor(network_of("open-tub"))
    network = replace(network, mean=np.full_like(network.mean, np.log(3.0)), vehicle=np.full_like(network.mean, 0.8))
    network = replace(network, own=np.full_like(network.mean, 0.6))
    prior = infer(network, Evidence(), Orders(30, 1, 1)).zones[0]
    assert [round(prior[1:4].sum(), 2), round(prior[2:4].sum(), 2), round(prior[3], 2)] == [0.89, 0.63, 0.38]


def sampled(network: Network, evidence: Evidence, draws: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """The slow twin: draw whole vehicles from the definition, weigh each by its evidence; means and standard errors, (Z, 6)."""
    rng = np.random.default_rng(seed)
    state = rng.choice(len(network.repair), size=draws, p=network.repair)
    f = rng.standard_normal(draws)
    g = rng.standard_normal((draws, len(network.groups)))
    u = rng.standard_normal((draws, len(network.group_of_family)))
    weight = np.ones(draws) if evidence.repair is None else evidence.repair[state]
    for i, ramps in evidence.groups.items():
        weight = weight * np.prod([ramp.at(g[:, i]) for ramp in ramps], axis=0)
    for i, ramps in evidence.families.items():
        weight = weight * np.prod([ramp.at(u[:, i]) for ramp in ramps], axis=0)
    conditions = np.empty((draws, len(network.zones)), dtype=int)
    for z in range(len(network.zones)):
        own = network.own[z] * rng.standard_normal(draws)
        x = network.mean[z] + network.vehicle[z] * f + network.group[z] * g[:, network.group_of[z]]
        x = x + network.family[z] * u[:, network.family_of[z]] + own
        alone = network.mean[z] + network.total[z] * rng.standard_normal(draws)
        x = np.where(rng.random(draws) < network.local, alone, x)
        damage = np.searchsorted(network.thresholds, x)
        chance = rng.random(draws)
        mended, masked = network.mended[state, damage], network.masked[state, damage]
        conditions[:, z] = np.where(chance < mended, 4, np.where(chance < mended + masked, 5, damage))
        if z in evidence.zones:
            weight = weight * evidence.zones[z][conditions[:, z]]
    share = weight / weight.sum()
    shown = conditions[:, :, None] == np.arange(6)
    mean = np.einsum("n,nzc->zc", share, shown)
    error = np.sqrt(np.einsum("n,nzc->zc", share**2, (shown - mean) ** 2))
    return mean, error


def test_a_slow_sampling_twin_agrees_within_four_standard_errors():
    network = network_of("pickup")
    rng = np.random.default_rng(5)
    evidence = random_evidence(network, rng, findings=4)
    mean, error = sampled(network, evidence, draws=60_000, seed=11)
    ours = infer(network, evidence, USUAL).zones
    assert (np.abs(ours - mean) < 4 * error + 2e-4).all()


def test_joint_draws_have_the_marginals_and_the_correlation_of_the_posterior():
    network = network_of("coupe")
    evidence = random_evidence(network, np.random.default_rng(8), findings=10)
    posterior = infer(network, evidence, USUAL)
    draws = draw(posterior, 20_000, seed=3).conditions
    share = np.stack([(draws == c).mean(axis=0) for c in range(6)], axis=1)
    assert (np.abs(share - posterior.zones) < 4 * np.sqrt(posterior.zones * (1 - posterior.zones) / 20_000) + 1e-3).all()
    for a, b in ((0, 1), (10, 11), (5, 40)):
        holed = np.zeros(6)
        holed[3] = 1.0
        seen = evidence.zones.get(a, np.ones(6)) * holed
        given = infer(network, replace(evidence, zones={**evidence.zones, a: seen}), USUAL).zones[b, 3]
        chosen = draws[draws[:, a] == 3][:, b] == 3
        assert abs(chosen.mean() - given) < 4 * np.sqrt(given * (1 - given) / chosen.size) + 0.01


def test_the_same_posterior_and_seed_give_the_same_draws():
    posterior = infer(network_of("van"), Evidence(), USUAL)
    assert (draw(posterior, 500, 7).conditions == draw(posterior, 500, 7).conditions).all()
    assert (draw(posterior, 500, 7).conditions != draw(posterior, 500, 8).conditions).any()


def test_every_zone_sums_to_one(any_posterior: Posterior):
    assert np.abs(any_posterior.zones.sum(axis=1) - 1).max() < 1e-12
    assert any_posterior.repair.sum() == pytest.approx(1)


@pytest.fixture(params=BODIES)
def any_posterior(request: pytest.FixtureRequest) -> Posterior:
    network = network_of(request.param)
    return infer(network, random_evidence(network, np.random.default_rng(1)), USUAL)


def test_impossible_evidence_is_refused_by_the_name_of_every_zone():
    network = network_of("coupe")
    with pytest.raises(BadInput) as refused:
        infer(network, Evidence({0: np.zeros(6), 5: np.zeros(6)}), SMALL)
    assert [problem.where for problem in refused.value.problems] == [network.zones[0], network.zones[5]]
    assert "probability zero" in refused.value.problems[0].text


def test_evidence_that_rules_out_a_condition_keeps_it_at_zero():
    network = network_of("coupe")
    posterior = infer(network, Evidence({0: np.array([0.0, 0.0, 0.0, 1.0, 0.0, 0.0])}), SMALL)
    assert posterior.zones[0].tolist() == [0, 0, 0, 1, 0, 0]


@pytest.mark.parametrize(("repaired", "well"), [(0.25, 0.4), (0.6, 0.2), (0.1, 0.65), (0.5, 0.2), (0.05, 0.4)])
def test_the_repair_states_mix_to_the_history_that_was_asked_for(repaired, well):
    tables = load_tables()
    rows = tables.rows("repair_states.csv", ("state", "name", "repaired", "well"))
    mix = repair_prior(repaired, well, tables)
    chance = np.array([row.number("repaired") for row in rows])
    good = np.array([row.number("well") for row in rows])
    assert mix @ chance == pytest.approx(repaired, abs=0.01)
    assert (mix * chance) @ good / repaired == pytest.approx(well, abs=0.03)


@pytest.mark.parametrize(("repaired", "well", "name"), [(1.2, 0.4, "repaired"), (0.3, -0.1, "well")])
def test_a_repair_share_outside_zero_to_one_is_refused(repaired, well, name):
    with pytest.raises(BadInput, match=name):
        repair_prior(repaired, well, load_tables())
