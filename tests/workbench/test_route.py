"""The way round a vehicle: nothing better is found by trying everything, and the way goes where a person would go."""

from __future__ import annotations

from itertools import chain, combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weldworth.workbench.route import CELL, STATIONS, Ground, Look, Pace, Stop, best_route, duration, seconds_between, way_round

GROUND = Ground(4400.0, 1800.0)
PACE = Pace(60, 10, 1.4, {"outside": 0, "engine bay": 45, "inside": 30, "underneath": 60})
STOPS = (
    Stop("nose", "outside", "In front", (-2200, 0)),
    Stop("left", "outside", "Left", (0, 900)),
    Stop("tail", "outside", "Behind", (2200, 0)),
    Stop("right", "outside", "Right", (0, -900)),
    Stop("cab-left", "inside", "Left door", (-200, 900)),
    Stop("cab-right", "inside", "Right door", (-200, -900)),
    Stop("low", "underneath", "From behind, low", (2200, 0)),
)


def by_trying_everything(looks: list[Look], minutes: float) -> tuple[float, int]:
    """The most worth and the least time for it: every set of looks, every order of stops within a station."""
    best = (0.0, 0)
    at = {stop.id: stop for stop in STOPS}
    for chosen in chain.from_iterable(combinations(looks, n) for n in range(1, len(looks) + 1)):
        here = sorted({look.stop for look in chosen})
        for order in permutations(here):
            way = [at[id] for id in order]
            if [STATIONS.index(stop.station) for stop in way] != sorted(STATIONS.index(stop.station) for stop in way):
                continue
            seconds, before = PACE.begin, None
            for stop in way:
                seconds += seconds_between(GROUND, PACE, before, stop)
                before = stop
            seconds += sum(look.seconds for look in chosen)
            worth = sum(look.worth for look in chosen)
            if seconds <= minutes * 60 and (worth > best[0] + 1e-9 or (worth > best[0] - 1e-9 and seconds < best[1])):
                best = (worth, int(seconds))
    return best


some_looks = st.lists(st.tuples(st.sampled_from(STOPS), st.integers(2, 30), st.integers(1, 40)), min_size=1, max_size=7).map(
    lambda items: [Look(f"z{n}", stop.id, cells * CELL, float(worth)) for n, (stop, cells, worth) in enumerate(items)]
)


@given(some_looks, st.integers(2, 14))
@settings(max_examples=60, deadline=None)
def test_trying_every_choice_and_every_order_finds_nothing_worth_more_and_nothing_shorter(
    looks: list[Look], minutes: int
) -> None:
    worth, seconds = by_trying_everything(looks, minutes)
    route = best_route(STOPS, looks, GROUND, PACE, minutes)
    assert route.worth == pytest.approx(worth)
    if worth:
        assert route.seconds == seconds


@given(some_looks, st.integers(2, 20), st.integers(1, 20))
@settings(max_examples=60, deadline=None)
def test_more_minutes_are_never_worth_less_and_are_never_overrun(looks: list[Look], minutes: int, more: int) -> None:
    short, long = (best_route(STOPS, looks, GROUND, PACE, time) for time in (minutes, minutes + more))
    assert long.worth >= short.worth - 1e-9
    for route, time in ((short, minutes), (long, minutes + more)):
        assert not route.stops or route.seconds <= time * 60
        assert route.seconds == duration(route.stops, GROUND, PACE)


@given(some_looks)
@settings(max_examples=40, deadline=None)
def test_with_time_enough_everything_is_seen_once_and_nobody_lies_down_twice(looks: list[Look]) -> None:
    route = best_route(STOPS, looks, GROUND, PACE, 240)
    ids = [stop.id for stop, _ in route.stops]
    assert len(ids) == len(set(ids)) and set(ids) == {look.stop for look in looks}
    assert sorted(look.zone for _, chosen in route.stops for look in chosen) == sorted(look.zone for look in looks)
    assert all(look.stop == stop.id for stop, chosen in route.stops for look in chosen)
    stations = [STATIONS.index(stop.station) for stop, _ in route.stops]
    assert stations == sorted(stations)


def test_the_way_leads_round_the_vehicle_and_not_through_it() -> None:
    """By hand: a body of 4 by 2 m, walked 0.8 m outside, is 4 * (2.8 + 1.8) = 18.4 m round; from nose to tail is half of it."""
    ground = Ground(4000, 2000)
    assert way_round(ground, (-2000, 0), (2000, 0)) == pytest.approx(9200)
    assert way_round(ground, (0, 1000), (0, -1000)) == pytest.approx(9200)
    assert way_round(ground, (0, 1000), (1000, 1000)) == pytest.approx(way_round(ground, (1000, 1000), (0, 1000)))
    assert way_round(ground, (-2000, 0), (0, 1000)) == pytest.approx(1800 + 2800)
    assert way_round(ground, (-1900, 700), (-1900, 700)) == 0


def test_one_goes_on_round_instead_of_back_and_forth() -> None:
    looks = [Look(stop.id, stop.id, 40, 1.0) for stop in STOPS if stop.station == "outside"]
    ids = [stop.id for stop, _ in best_route(STOPS, looks, GROUND, PACE, 60).stops]
    ring = ["nose", "left", "tail", "right"]
    turned = [ring[n:] + ring[:n] for n in range(4)]
    assert ids in turned or ids[::-1] in turned


def test_without_time_there_is_no_walk() -> None:
    looks = [Look("z", "nose", 40, 1.0)]
    assert best_route(STOPS, looks, GROUND, PACE, 1).stops == ()
    assert best_route(STOPS, [], GROUND, PACE, 40).stops == ()
