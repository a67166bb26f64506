"""The figures that are shown: quantiles, drivers, the list of work and the offers of whole parts."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from weldworth.bill import Bill, default_terms, price, summary
from weldworth.bill.summary import quantiles, zone_costs
from weldworth.tables.load import load_tables
from weldworth.vehicle.conditions import HOLED, MENDED
from weldworth.vehicle.plans import load_plan

TABLES = load_tables()
TERMS = default_terms(TABLES)
PLAN = load_plan("pickup", TABLES)


def mixed(draws: int, seed: int, weights: tuple[float, ...] = (0.5, 0.25, 0.1, 0.08, 0.04, 0.03)) -> NDArray[np.int8]:
    return np.random.default_rng(seed).choice(6, size=(draws, len(PLAN.zones)), p=weights).astype(np.int8)


def bill(rows: NDArray[np.int8], seed: int = 1) -> Bill:
    return summary(price(PLAN, rows, TERMS, TABLES, seed=seed))


def test_the_quantiles_are_in_order_and_the_mean_lies_above_the_middle() -> None:
    shown = bill(mixed(4000, 1))
    assert 0 < shown.p10 < shown.p50 < shown.mean < shown.p80 < shown.p90


@pytest.mark.parametrize("size", [1, 2, 5, 4000])
def test_quantiles_are_those_of_numpy(size: int) -> None:
    values = np.random.default_rng(size).lognormal(size=size)
    assert quantiles(values, (0, 10, 50, 80, 90, 100)) == np.percentile(values, (0, 10, 50, 80, 90, 100)).tolist()


def test_the_shares_of_the_spread_sum_to_one_and_agree_with_the_covariances() -> None:
    draws = price(PLAN, mixed(3000, 2), TERMS, TABLES, seed=2)
    shown = summary(draws)
    assert sum(driver.share for driver in shown.drivers) == pytest.approx(1, abs=1e-9)
    assert {"set-ups", "paint", "overrun"} <= {driver.zone for driver in shown.drivers}
    shares = {driver.zone: driver.share for driver in shown.drivers}
    for zone in ("pu.frame.kick.l", "pu.cowl.top"):
        covariance = np.cov(zone_costs(draws)[PLAN.index[zone]], draws.total)
        assert shares[zone] == pytest.approx(covariance[0, 1] / covariance[1, 1], rel=1e-6)


def test_what_the_zones_cost_adds_up_to_what_the_jobs_cost() -> None:
    draws = price(PLAN, mixed(1000, 3), TERMS, TABLES, seed=3)
    c = draws.costing
    assert zone_costs(draws).sum(axis=0) == pytest.approx((c.job_hours * c.hour_price + c.job_material).sum(axis=0))


def test_the_zone_that_nobody_knows_drives_the_spread() -> None:
    rows = np.zeros((4000, len(PLAN.zones)), dtype=np.int8)
    rows[:, PLAN.index["pu.tailgate"]] = HOLED
    rows[:2000, PLAN.index["pu.cowl.top"]] = HOLED
    zones = [driver.zone for driver in bill(rows).drivers if driver.zone in PLAN.index]
    assert zones[0] == "pu.cowl.top"


def test_the_chance_of_a_line_is_how_often_its_zone_is_in_that_condition() -> None:
    rows = np.zeros((1000, len(PLAN.zones)), dtype=np.int8)
    rows[:300, PLAN.index["pu.floor.front.l"]] = HOLED
    rows[300:, PLAN.index["pu.floor.front.l"]] = MENDED
    lines = {line.code: line for line in bill(rows).lines}
    assert lines["floor.full"].zones == ("pu.floor.front.l",)
    assert lines["floor.full"].chance == lines["U.int"].chance == lines["U.teardown"].chance == pytest.approx(0.3)
    # 14 h at 100 and 160 of material at the likely figures; 8 to 24 h at 75 to 140 from one end to the other.
    assert 670 < lines["floor.full"].p10 < 1560 < lines["floor.full"].p90 < 3700
    assert lines["floor.full"].p50 == pytest.approx(1560, rel=0.1)


def test_chance_times_cost_of_the_lines_adds_up_to_the_estimate() -> None:
    draws = price(PLAN, mixed(2000, 5), TERMS, TABLES, seed=5)
    lines = summary(draws).lines
    assert sum(line.chance * line.mean for line in lines) == pytest.approx(float((draws.total - draws.overrun).mean()), rel=1e-9)


def test_a_rotten_cab_is_offered_in_exchange_with_its_caution() -> None:
    rows = np.zeros((500, len(PLAN.zones)), dtype=np.int8)
    cab = ("pu.floor", "pu.mount", "pu.rocker", "pu.corner", "pu.cowl", "pu.ws")
    rows[:, [i for i, zone in enumerate(PLAN.zones) if zone.kind.startswith(cab)]] = HOLED
    offers = bill(rows).offers
    assert offers[0].part == "cab"
    assert offers[0].chance > 0.8
    assert offers[0].saves > offers[0].costs
    assert "licensing authority" in offers[0].caution


def test_nothing_is_offered_for_a_sound_vehicle_and_nothing_drives() -> None:
    shown = bill(np.zeros((10, len(PLAN.zones)), dtype=np.int8))
    assert (shown.mean, shown.p90, shown.drivers, shown.lines, shown.offers, shown.overhead) == (0, 0, (), (), (), 0)


def test_zones_that_rust_together_spread_the_bill_more_than_zones_that_do_not() -> None:
    rng = np.random.default_rng(3)
    cab = [i for i, zone in enumerate(PLAN.zones) if zone.kind.startswith(("pu.floor", "pu.rocker", "pu.corner"))]
    together, apart = (np.zeros((4000, len(PLAN.zones)), dtype=np.int8) for _ in range(2))
    together[:, cab] = np.where(rng.random((4000, 1)) < 0.3, HOLED, 0)
    apart[:, cab] = np.where(rng.random((4000, len(cab))) < 0.3, HOLED, 0)
    a, b = (price(PLAN, rows, TERMS, TABLES, seed=3).total for rows in (together, apart))
    assert a.std() / a.mean() > 2 * b.std() / b.mean()
    assert a.mean() < b.mean()  # what is done in one go shares its set-ups
