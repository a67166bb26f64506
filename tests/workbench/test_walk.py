"""Planning a walk on real body plans: what is worth most comes, where it is seen from, and what to mind there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from candidates import TABLES, TODAY, candidate

from weldworth.asks.walk import worth_of_looks
from weldworth.asks.worth import Decision
from weldworth.belief.believe import believe
from weldworth.belief.draws import Draws
from weldworth.belief.sight import lexicon
from weldworth.core.errors import BadInput
from weldworth.drawings.ground import ground
from weldworth.drawings.shelf import bodies
from weldworth.exposure.result import flat
from weldworth.vehicle.plans import load_plan
from weldworth.vehicle.vehicle import Vehicle
from weldworth.workbench.dossier import ResaleView
from weldworth.workbench.route import ANYWHERE
from weldworth.workbench.walk import MINUTES, plan_walk, stop_for, stops_of, walkers
from weldworth.workbench.weigher import Basis, LookShares, Weigher

WALKERS = walkers(TABLES)
BODIES = ("coupe", "open-tub", "pickup", "roadster", "van")


def even_shares(body: str) -> dict[str, float]:
    zones = load_plan(body, TABLES).zones
    return {zone.id: 1 / len(zones) for zone in zones if zone.access <= 4}


def looks_of(walker: str, **changes: object) -> LookShares:
    found = replace(candidate(), vehicle=Vehicle("Ostrel 60", "pickup", 1964), **changes)  # type: ignore[arg-type]
    return Weigher().looks(Basis("one", "", TABLES.version, 0, TODAY, 0), lambda: found, TABLES, WALKERS[walker])


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("minutes", MINUTES)
def test_a_walk_fits_its_minutes_and_visits_each_stop_and_zone_once(body: str, minutes: int) -> None:
    plan = load_plan(body, TABLES)
    walk = plan_walk(plan, even_shares(body), 500.0, WALKERS["own-lift"], minutes, ground(body), TABLES)
    stops = [stop.id for stop in walk.stops]
    zones = [zone for stop in walk.stops for zone in stop.zones]
    assert len(stops) == len(set(stops)) and len(zones) == len(set(zones))
    assert walk.seconds <= minutes * 60
    assert set(zones) | set(walk.left_out) == set(even_shares(body)) and not set(zones) & set(walk.left_out)
    assert all(plan.zone(zone).station == stop.station for stop in walk.stops for zone in stop.zones)


@pytest.mark.parametrize("body", BODIES)
def test_more_minutes_are_never_worth_less(body: str) -> None:
    plan, shares = load_plan(body, TABLES), even_shares(body)
    worths = [plan_walk(plan, shares, 500.0, WALKERS["own-lift"], n, ground(body), TABLES).worth for n in (5, 10, 15, 40, 90)]
    assert worths == sorted(worths) and worths[0] < worths[-1]


@pytest.mark.parametrize("body", BODIES)
def test_a_zone_is_seen_from_its_own_side(body: str) -> None:
    for zone in load_plan(body, TABLES).zones:
        for where in (ground(body), ANYWHERE):
            across = stop_for(zone, stops_of(TABLES, where), where).at[1]
            assert across * {"l": 1, "r": -1, "": 0}[zone.side] >= 0, zone.id


def test_what_is_worth_most_for_its_time_is_on_the_short_walk() -> None:
    plan = load_plan("pickup", TABLES)
    shares = {zone.id: (0.9 if zone.id == "pu.bed.side.r" else 0.1 / 60) for zone in plan.zones if zone.access <= 4}
    walk = plan_walk(plan, shares, 500.0, WALKERS["own-ground"], 5, ground("pickup"), TABLES)
    assert "pu.bed.side.r" in [zone for stop in walk.stops for zone in stop.zones]


def test_what_rusts_first_of_its_group_is_looked_at_first() -> None:
    plan = load_plan("pickup", TABLES)
    walk = plan_walk(plan, even_shares("pickup"), None, WALKERS["own-lift"], 90, ground("pickup"), TABLES)
    sentinels = {sentinel.zone for sentinel in plan.sentinels}
    named = [zone for stop in walk.stops for zone in stop.first]
    assert {plan.zone(zone).kind for zone in named} | set(named) >= sentinels - {"pu.driprail"} or sentinels <= set(named)
    assert all(stop.zones[: len(stop.first)] == stop.first for stop in walk.stops)


def test_underneath_nobody_is_sent_under_a_jack_and_probing_wants_leave() -> None:
    plan = load_plan("pickup", TABLES)
    for walker, words in (("own-ground", "Never under a vehicle on a jack"), ("own-lift", "until the lift is locked")):
        walk = plan_walk(plan, even_shares("pickup"), None, WALKERS[walker], 90, ground("pickup"), TABLES)
        low = [stop for stop in walk.stops if stop.station == "underneath"]
        assert low and all(words in stop.caution and "fuel" in stop.caution for stop in low)
        assert all("Probe only with the owner's leave" in stop.caution for stop in walk.stops)


def test_who_does_not_go_underneath_is_not_sent_there() -> None:
    zones = {plan.id: plan for plan in load_plan("pickup", TABLES).zones}
    assert all(zones[zone].station != "underneath" for zone in looks_of("inspector-ground").shares)
    assert any(zones[zone].station == "underneath" for zone in looks_of("own-ground").shares)


def test_door_gaps_are_measured_from_outside_on_their_own_side() -> None:
    walk = plan_walk(load_plan("pickup", TABLES), even_shares("pickup"), None, WALKERS["own-lift"], 90, ground("pickup"), TABLES)
    at = {place: stop for stop in walk.stops for place in stop.places}
    assert set(at) == {"pu.gap.l", "pu.gap.r"}
    assert at["pu.gap.l"].id.endswith("left") and at["pu.gap.r"].id.endswith("right")


@pytest.mark.parametrize("minutes", [4, 241, -1])
def test_minutes_out_of_bounds_are_refused(minutes: int) -> None:
    with pytest.raises(BadInput, match=f"minutes is {minutes}; give 5 to 240"):
        plan_walk(load_plan("van", TABLES), even_shares("van"), None, WALKERS["own-lift"], minutes, ANYWHERE, TABLES)


def test_the_shares_of_all_looks_make_one_and_without_money_the_unsure_comes_first() -> None:
    at_stake = ResaleView(52_000, 60_000, 68_000)
    with_money, without = looks_of("own-lift", resale=at_stake), looks_of("own-lift", resale=None)
    assert sum(with_money.shares.values()) == pytest.approx(1) and with_money.together is not None and with_money.together > 0
    assert sum(without.shares.values()) == pytest.approx(1) and without.together is None


def test_the_zone_that_the_deal_hangs_on_has_most_of_the_worth() -> None:
    """A payoff that one zone alone decides; the others tell nothing of it."""
    plan, rng = load_plan("coupe", TABLES), np.random.default_rng(20261126)
    conditions = rng.integers(0, 6, (4000, len(plan.zones))).astype(np.int8)
    decides = plan.index["mc.sill.outer.l"]
    payoff = np.where(conditions[:, decides] == 3, -8000.0, 1500.0)[:, None]
    draws = Draws(conditions, np.zeros(4000, np.intp), np.zeros(4000, np.intp), np.zeros((4000, 1), np.intp))
    lex = lexicon(TABLES)
    belief = believe(plan, flat(1.0, 0.2), (), TABLES, today=TODAY)
    shares, together = worth_of_looks(
        belief, range(len(plan.zones)), lex.sources["own-lift"], draws, Decision(payoff, np.ones(1)), lex, 1
    )
    assert shares["mc.sill.outer.l"] > 0.8
    assert 0 < together <= Decision(payoff, np.ones(1)).perfect


def test_every_body_with_drawings_says_where_to_stand_for_each_of_its_zones() -> None:
    for body in bodies():
        known = ground(body)
        assert {zone.id for zone in load_plan(body, TABLES).zones} <= set(known.stands)
        assert 3000 < known.length < 6000 and 1300 < known.width < 2300
