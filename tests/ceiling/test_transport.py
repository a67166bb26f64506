"""Distances against published geodesics, costs against the pages they come from and the trade's bands."""

from __future__ import annotations

from dataclasses import astuple
from pathlib import Path

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from weldworth.ceiling.transport import geodesic_km, road_km, transport_cost, transport_costs, transport_tables
from weldworth.core.errors import BadInput
from weldworth.tables.load import SHIPPED, load_tables

KNOWN = transport_tables(load_tables())
MILE = 1.609344


def sexagesimal(degrees: float, minutes: float, seconds: float) -> float:
    return degrees + minutes / 60 + seconds / 3600


def test_the_worked_example_of_geographiclib_comes_out() -> None:
    # GeographicLib documentation, Wellington to Salamanca: 19,959,679.267 m.
    assert geodesic_km((-41.32, 174.81), (40.96, -5.50)) == pytest.approx(19_959.679267, abs=1e-6)


def test_the_test_line_of_geoscience_australia_comes_out() -> None:
    # Flinders Peak to Buninyong on GRS80, 54,972.271 m: Geoscience Australia, GDA technical manual (from memory).
    flinders = -sexagesimal(37, 57, 3.72030), sexagesimal(144, 25, 29.52440)
    buninyong = -sexagesimal(37, 39, 10.15610), sexagesimal(143, 55, 35.38390)
    grs80 = Geodesic(6_378_137.0, 1 / 298.257222101)
    assert geodesic_km(flinders, buninyong, grs80) == pytest.approx(54.972271, abs=1e-6)


@pytest.mark.parametrize(("radius", "km"), [(6_372_800.0, 2_887.25995), (6_371_000.0, 2_886.44444)])
def test_on_a_sphere_it_is_the_great_circle(radius: float, km: float) -> None:
    # Great-circle distance between two airports, a common programming task (from memory); haversine as second method.
    start, end = (36.12, -86.67), (33.94, -118.40)
    assert geodesic_km(start, end, Geodesic(radius, 0.0)) == pytest.approx(km, abs=1e-4)
    phi, lam = np.radians([start[0], end[0]]), np.radians([start[1], end[1]])
    half = np.sin(np.diff(phi)[0] / 2) ** 2 + np.cos(phi).prod() * np.sin(np.diff(lam)[0] / 2) ** 2
    assert geodesic_km(start, end, Geodesic(radius, 0.0)) == pytest.approx(2 * radius / 1000 * np.arcsin(np.sqrt(half)), abs=1e-6)


def test_the_road_is_a_fifth_longer_than_the_straight_line() -> None:
    # Newell (1980): circuity 1.2. Boston to Dallas is 1,520 miles straight and 1,750 by road (1.151),
    # https://christopherwolfram.com/projects/efficiency-of-road-networks
    boston, dallas = (42.36, -71.06), (32.78, -96.80)
    straight = geodesic_km(boston, dallas) / MILE
    assert straight == pytest.approx(1_550, rel=0.03)
    assert road_km(boston, dallas, KNOWN) / MILE == pytest.approx(1.2 * straight)
    assert road_km(boston, dallas, KNOWN) / MILE == pytest.approx(1_750, rel=0.08)


@pytest.mark.parametrize("place", [(91.0, 0.0), (0.0, 181.0), (float("nan"), 0.0)])
def test_a_place_off_the_globe_is_refused(place: tuple[float, float]) -> None:
    with pytest.raises(BadInput, match="end: latitude"):
        geodesic_km((0.0, 0.0), place)


@pytest.mark.parametrize(
    ("miles", "low", "high"),
    [(250, 250 * 1.50, 250 * 1.97), (500, 500 * 1.20, 767.50), (2_000, 2_000 * 0.60, 1_846.25)],
)
def test_low_and_high_are_the_cheapest_and_dearest_of_the_published_pages(miles: float, low: float, high: float) -> None:
    # Rates per mile of 2024 as printed: 1.97 at 0-500, 1.39 at 500-1000, 1.03 at 1500-2000, .84 at 2000-2500 on the
    # dearest page (joined between the middles of its bands); 1.50, 1.20, .60 at 200-300, 500, 2000 on the cheapest.
    cost = transport_cost(miles * MILE, KNOWN)
    assert (cost.low, cost.high) == pytest.approx((low, high), abs=0.01) and cost.low <= cost.likely <= cost.high


@pytest.mark.parametrize(
    ("miles", "low", "high"), [(300, 1.50, 2.00), (750, 1.20, 1.40), (1_500, 0.60, 1.10), (2_500, 0.60, 1.10)]
)
def test_rates_per_mile_overlap_the_bands_of_the_trade(miles: float, low: float, high: float) -> None:
    # Common practice, no source.
    cost = transport_cost(miles * MILE, KNOWN)
    assert cost.low / miles <= high and cost.high / miles >= low
    assert low * 0.95 <= cost.likely / miles <= high


def test_adders_lie_in_the_bands_of_the_trade_and_add_up() -> None:
    # Common practice, no source: not running 100-300, enclosed 40-80 percent.
    plain = np.array(astuple(transport_cost(1_000, KNOWN)))
    winched = np.array(astuple(transport_cost(1_000, KNOWN, adders=["not-running"])))
    enclosed = np.array(astuple(transport_cost(1_000, KNOWN, adders=["enclosed"])))
    both = np.array(astuple(transport_cost(1_000, KNOWN, adders=["enclosed", "not-running"])))
    assert (winched - plain).tolist() == pytest.approx([100, 200, 300])
    assert (enclosed / plain)[[0, 2]].tolist() == pytest.approx([1.4, 1.8])
    assert both == pytest.approx(winched + enclosed - plain)


def test_collecting_takes_the_published_rate_there_and_back_and_a_trailer() -> None:
    # Standard business mileage rate 2026, US Internal Revenue Service: 72.5 cents a mile. 100 miles away, one day.
    cost = transport_cost(100 * MILE, KNOWN, by="own")
    assert (cost.low, cost.likely, cost.high) == pytest.approx((145 + 60, 145 + 90, 145 + 120))


def test_the_more_distant_vehicle_never_costs_less_to_bring_home() -> None:
    distances = np.linspace(0, 8_000, 3_001)
    for by in ("carrier", "own"):
        costs = transport_costs(distances, KNOWN, by=by)  # type: ignore[arg-type]
        assert costs.shape == (3, 3_001) and np.all(np.diff(costs, axis=1) >= -1e-9) and np.all(np.diff(costs, axis=0) >= 0)


def test_a_short_hop_by_carrier_costs_the_least_charge() -> None:
    assert transport_cost(0.0, KNOWN) == transport_cost(10.0, KNOWN)


@given(st.floats(0, 8_000), st.integers(0, 2**31))
def test_draws_of_a_cost_lie_around_its_three_points(distance: float, seed: int) -> None:
    cost = transport_cost(distance, KNOWN)
    draws = cost.draws(400, seed)
    assert abs((draws < cost.likely).mean() - 0.5) <= 0.5 * 5 / np.sqrt(draws.size)
    assert cost.low * 0.5 < draws.min() and draws.max() < cost.high * 2.5


def test_everything_wrong_with_an_order_is_named_in_one_go() -> None:
    with pytest.raises(BadInput) as refusal:
        transport_cost(-5.0, KNOWN, adders=["not-runing", "remote", "remote"], by="carier", where="candidate.toml: sale")  # type: ignore[arg-type]
    texts = [problem.text for problem in refusal.value.problems]
    for named in ("nearest: 'not-running'", "'remote' is given twice", "nearest: 'carrier'", "quoted price"):
        assert any(named in text for text in texts), named
    assert {problem.where for problem in refusal.value.problems} == {"candidate.toml: sale"}


@pytest.mark.parametrize("distance", [50_000.0, float("nan")])
def test_a_distance_beyond_the_rates_is_refused_with_the_remedy(distance: float) -> None:
    with pytest.raises(BadInput, match="give a quoted price"):
        transport_cost(distance, KNOWN)


@pytest.mark.parametrize(
    ("table", "old", "new", "named"),
    [
        ("transport.csv", "b,2000,0.60", "b,2000,0.40", "must rise from row to row"),
        ("transport.csv", "b,2000,0.60", "b,900,0.60", "must rise from row to row"),
        ("transport_adders.csv", "enclosed,share", "enclosed,percent", "not 'amount' or 'share'"),
        ("transport_terms.csv", "circuity,", "circuit,", "there is no row 'circuity'"),
    ],
)
def test_a_shops_own_rates_are_checked_on_loading(tmp_path: Path, table: str, old: str, new: str, named: str) -> None:
    shipped = (SHIPPED / table).read_text(encoding="utf-8")
    assert old in shipped
    (tmp_path / table).write_text(shipped.replace(old, new), encoding="utf-8")
    with pytest.raises(BadInput, match=named):
        transport_tables(load_tables(tmp_path))
