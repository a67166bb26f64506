"""Facts of the trade that the belief must know. Every one of them: common practice, no source."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from vehicles import BODIES, TABLES, belief_about, probed, seen

from weldworth.belief.believe import Belief
from weldworth.belief.draws import draw
from weldworth.evidence.records import Finding
from weldworth.vehicle.conditions import HOLED, MASKED, MENDED, PITTED
from weldworth.vehicle.plans import load_plan

BAD = [PITTED, HOLED, MASKED]


def holed(belief: Belief, zone: str) -> float:
    return float(belief.zones[belief.plan.index[zone], HOLED])


def holed_before(belief: Belief, zone: str) -> float:
    return float(belief.prior[belief.plan.index[zone], HOLED])


def at_least_pitted(belief: Belief, zone: str) -> float:
    return float(belief.zones[belief.plan.index[zone], BAD].sum())


@pytest.mark.parametrize(
    ("body", "edge", "inside"),
    [
        ("open-tub", "ot.wsframe.lower", "ot.wsframe.inside"),
        ("pickup", "pu.ws.lower", "pu.ws.inner"),
        ("coupe", "mc.ws.lower", "mc.ws.inner"),
        ("van", "mv.screen.low", "mv.screen.in"),
    ],
)
def test_bubbling_at_the_glass_gasket_makes_metal_loss_inside_that_frame_likely(body, edge, inside):
    belief = belief_about(body, [seen(edge, "bubbling")])
    assert at_least_pitted(belief, inside) >= 0.75


HANGERS = [f"ot.frame.{which}_hanger.{side}" for which in ("front", "rear") for side in "lr"]


def test_four_clean_spring_hangers_at_least_halve_the_chance_of_holes_in_every_unseen_frame_zone():
    belief = belief_about("open-tub", [seen(zone, "original-paint") for zone in HANGERS])
    unseen = [z.id for z in belief.plan.zones if z.cause == "frame" and z.id not in HANGERS]
    assert len(unseen) >= 12
    for zone in unseen:
        assert holed(belief, zone) <= holed_before(belief, zone) / 2, zone


@pytest.mark.parametrize("body", BODIES)
def test_no_amount_of_clean_metal_elsewhere_clears_unseen_metal_completely(body):
    plan = load_plan(body, TABLES)
    hidden = max((z for z in plan.zones if z.view == "hidden" and z.cause != "battery"), key=lambda z: z.vulnerability)
    clean = [seen(z.id, "original-paint") for z in plan.zones if z.kind != hidden.kind]
    belief = belief_about(body, clean)
    assert holed(belief, hidden.id) >= holed_before(belief, hidden.id) / 30
    assert holed(belief, hidden.id) > 0.008


def test_for_a_probed_zone_the_probe_says_more_than_a_picture():
    zone = "ot.frame.rear_hanger.l"
    assert holed(belief_about("open-tub", [probed(zone)]), zone) < holed(
        belief_about("open-tub", [seen(zone, "original-paint")]), zone
    )
    worse = holed(belief_about("open-tub", [probed(zone, "goes-through")]), zone)
    assert worse > holed(belief_about("open-tub", [seen(zone, "scale")]), zone)


@pytest.mark.parametrize("body", BODIES)
def test_sound_sentinels_everywhere_leave_less_than_one_in_ten_chance_of_a_hole_in_any_other_zone(body):
    sentinels = {sentinel.zone for sentinel in load_plan(body, TABLES).sentinels}
    belief = belief_about(body, [probed(zone) for zone in sorted(sentinels)])
    others = {zone.id: holed(belief, zone.id) for zone in belief.plan.zones if zone.id not in sentinels}
    assert max(others.values()) < 0.1, max(others, key=others.__getitem__)


@pytest.mark.parametrize(
    ("body", "sentinel"),
    [
        ("open-tub", "ot.frame.rear_cm"),
        ("pickup", "pu.frame.shackle.l"),
        ("coupe", "mc.rail.rear.l"),
        ("van", "mv.jack.l"),
        ("roadster", "sr.ch.kick"),
    ],
)
def test_rust_in_a_sentinel_is_more_often_than_not_the_worst_of_its_group(body, sentinel):
    belief = belief_about(body, [])
    draws = draw(belief.posterior, 20_000, seed=20261101).conditions
    worst = np.array([0, 1, 2, 3, 0, 3])[draws]
    zone = belief.plan.zone(sentinel)
    group = [i for i, other in enumerate(belief.plan.zones) if other.cause == zone.cause and other.kind != zone.kind]
    mine = worst[:, belief.plan.index[sentinel]]
    rusted = mine >= PITTED
    assert (mine[rusted] >= worst[rusted][:, group].max(axis=1)).mean() > 0.5


@pytest.mark.parametrize(
    ("body", "tray", "beneath", "across"),
    [
        ("open-tub", "ot.battery", ["ot.apron.r"], ["ot.apron.l"]),
        ("pickup", "pu.battery", ["pu.apron.r", "pu.frame.engine_bay.r"], ["pu.apron.l", "pu.frame.engine_bay.l"]),
        ("coupe", "mc.battery", ["mc.apron.l", "mc.rail.front.l"], ["mc.apron.r", "mc.rail.front.r"]),
        ("van", "mv.battery", ["mv.corner.r.r"], ["mv.corner.r.l"]),
    ],
)
def test_a_leaking_battery_raises_its_own_side_and_leaves_the_other_side_alone(body, tray, beneath, across):
    belief = belief_about(body, [seen(tray, "staining"), seen(tray, "wet")])
    for zone in [tray, *beneath]:
        assert at_least_pitted(belief, zone) > belief.prior[belief.plan.index[zone], BAD].sum() + 0.15, zone
    for zone in across:
        assert np.abs(belief.zones - belief.prior)[belief.plan.index[zone]].max() < 0.02, zone


def test_wet_carpet_raises_the_low_floor_corners_and_not_the_frame():
    belief = belief_about("coupe", [seen("mc.floor.front.l", "wet"), seen("mc.floor.front.r", "wet")])
    for zone in ("mc.floor.front.l", "mc.toe.l", "mc.toe.r"):
        assert holed(belief, zone) > holed_before(belief, zone) + 0.1
    for zone in (z.id for z in belief.plan.zones if z.cause in ("frame", "lower")):
        assert holed(belief, zone) == pytest.approx(holed_before(belief, zone), abs=1e-9), zone


def test_clean_roll_bar_feet_seen_from_above_do_not_clear_the_metal_behind_and_below_them():
    belief = belief_about("open-tub", [seen(f"ot.rollfeet.{side}", "original-paint") for side in "lr"])
    for zone in ("ot.arch.inner.l", "ot.floor.rear_sill", "ot.mount.tub_rear.l"):
        assert holed(belief, zone) > 0.75 * holed_before(belief, zone), zone
    assert holed(belief, "ot.rollfeet.l") > 0.4 * holed_before(belief, "ot.rollfeet.l")


@pytest.mark.parametrize(
    ("body", "zone"), [("open-tub", "ot.frame.rear_cm"), ("coupe", "mc.sill.outer.l"), ("roadster", "sr.sill.end.l")]
)
def test_a_part_that_fills_with_mud_from_inside_is_judged_by_its_holes_and_seams_not_by_its_outer_face(body, zone):
    face = holed(belief_about(body, [seen(zone, "original-paint")]), zone)
    looked_into = holed(belief_about(body, [seen(zone, "box-clean")]), zone)
    before = holed_before(belief_about(body, []), zone)
    assert before / face < before / looked_into / 2
    assert holed(belief_about(body, [seen(zone, "hole")]), zone) > 0.9


@pytest.mark.parametrize("exposure", [0.15, 0.35, 1.0])
def test_a_hole_in_a_poor_picture_is_still_a_hole_while_a_blister_in_one_is_hardly_a_sign(exposure):
    zone = "mc.floor.front.l"

    def odds(*records) -> float:
        belief = belief_about("coupe", records, exposure=exposure)
        z = belief.plan.index[zone]
        return float(belief.zones[z, HOLED] / belief.zones[z, 0])

    before = odds()
    assert odds(seen(zone, "hole", quality=0.3)) > 50 * before
    assert odds(seen(zone, "bubbling", quality=0.3)) < 10 * before


def test_fresh_coating_over_one_place_raises_masked_and_never_raises_sound():
    for exposure in (0.35, 1.0, 2.5):
        for body in BODIES:
            plan = load_plan(body, TABLES)
            zone = next(z.id for z in plan.zones if z.cause in ("frame", "lower"))
            belief = belief_about(body, [seen(zone, "fresh-coating", quality=0.8)], exposure=exposure)
            z = belief.plan.index[zone]
            assert belief.zones[z, MASKED] > belief.prior[z, MASKED]
            assert belief.zones[z, 0] < belief.prior[z, 0]
            assert belief.repair["dressed"] > 0


def test_one_corner_bad_and_its_twin_perfect_raises_the_repaired_states_of_the_twin():
    clean = belief_about("pickup", [seen("pu.corner.outer.l", "original-paint", quality=0.6)], exposure=1.5)
    beside = [seen("pu.corner.outer.l", "original-paint", quality=0.6), seen("pu.corner.outer.r", "bubbling")]
    twin = belief_about("pickup", beside, exposure=1.5)
    z = twin.plan.index["pu.corner.outer.l"]
    repaired = [MENDED, MASKED]
    share = twin.zones[z, repaired].sum() / (twin.zones[z, repaired].sum() + twin.zones[z, 0])
    assert share > clean.zones[z, repaired].sum() / (clean.zones[z, repaired].sum() + clean.zones[z, 0])


def test_an_old_bad_picture_outweighs_a_new_good_one():
    zone = "mc.quarter.low.l"
    old = seen(zone, "bubbling", "old-picture", seen_on=date(2024, 9, 1))
    new = seen(zone, "original-paint", "beauty-picture")
    belief = belief_about("coupe", [old, new])
    assert at_least_pitted(belief, zone) > belief.prior[belief.plan.index[zone], BAD].sum()


def test_a_refusal_moves_belief_less_than_a_bad_picture_and_more_than_nothing():
    zone = "mc.floor.front.l"
    before = belief_about("coupe", [], exposure=1.5)
    refused = at_least_pitted(belief_about("coupe", [Finding(zone, "not-shown", "seller-answer")], exposure=1.5), zone)
    shown = at_least_pitted(belief_about("coupe", [seen(zone, "scale", "poor-picture")], exposure=1.5), zone)
    assert at_least_pitted(before, zone) + 0.005 < refused < shown
