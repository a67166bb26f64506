"""The five body plans.

Counts, relations and vulnerabilities are common practice, no source; sheet thickness is held against the Manufacturers'
Standard Gauge for sheet steel, http://www.craginmetals.com/chart.html.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from weldworth.tables.load import load_tables
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.vehicle.plan import Plan
from weldworth.vehicle.plans import load_plan, plan_options

DATA = Path(__file__).parent / "data"
BODIES = ("open-tub", "pickup", "coupe", "van", "roadster")
TABLES = load_tables()


def fitted(body: str) -> Plan:
    """The plan with every option fitted."""
    return load_plan(body, TABLES, options=tuple(plan_options(body, TABLES)))


# --- the five plans --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "pairs", "centre", "one_side"),
    [
        ("open-tub", 26, 12, 2),  # 66 zones: the battery tray and the rail below it lie on one side
        ("pickup", 26, 15, 1),  # 68: the whole rail is covered, engine bay and behind the cab included
        ("coupe", 25, 15, 1),  # 66 with the sunroof tray
        ("van", 23, 14, 4),  # 64 with the roof cut; three zones of the side door and the battery shelf lie on one side
        ("roadster", 24, 14, 1),  # 63: the two door gaps are places to measure, not metal
    ],
)
def test_each_body_has_its_zones_on_both_sides_on_the_centre_line_or_on_one_side(
    body: str, pairs: int, centre: int, one_side: int
) -> None:
    plan = fitted(body)
    suffixed = [zone for zone in plan.zones if zone.id != zone.kind]
    assert len({zone.kind for zone in suffixed}) == pairs
    assert Counter(zone.side for zone in suffixed) == {"l": pairs, "r": pairs}
    assert sum(1 for zone in plan.zones if not zone.side) == centre
    assert sum(1 for zone in plan.zones if zone.side and zone.id == zone.kind) == one_side
    assert len(plan.zones) == 2 * pairs + centre + one_side


@pytest.mark.parametrize(("body", "zone"), [("coupe", "mc.sunroof"), ("van", "mv.roofcut")])
def test_a_zone_of_an_option_is_there_only_when_the_option_is_fitted(body: str, zone: str) -> None:
    assert zone in fitted(body).index
    assert zone not in load_plan(body, TABLES).index


def test_the_ids_that_dossiers_of_today_may_name_are_all_there() -> None:
    promised = set((DATA / "zone-ids.txt").read_text(encoding="utf-8").split())
    assert promised == {zone.id for body in BODIES for zone in fitted(body).zones}


def test_a_vinyl_roof_hides_the_roof_skin_and_makes_it_rust_sooner() -> None:
    bare, covered = (load_plan("coupe", TABLES, options=options).zone("mc.roof") for options in ((), ("vinyl-roof",)))
    assert (bare.view, covered.view) == ("exposed", "hidden")
    assert covered.vulnerability > bare.vulnerability


def test_a_bed_liner_hides_the_bed_floor_and_changes_nothing_else() -> None:
    bare, lined = (load_plan("pickup", TABLES, options=options) for options in ((), ("bed-liner",)))
    differing = [a.id for a, b in zip(bare.zones, lined.zones, strict=True) if a != b]
    assert differing == ["pu.bed.floor"]
    assert lined.zone("pu.bed.floor").view == "hidden"
    assert (bare.options, lined.options) == ({"bed-liner": False}, {"bed-liner": True})


@pytest.mark.parametrize("body", BODIES)
def test_the_two_sides_of_a_zone_differ_only_where_battery_acid_works(body: str) -> None:
    plan = fitted(body)
    for zone in plan.zones:
        if (twin := plan.twin(zone.id)) is not None:
            other = plan.zone(twin)
            unlike = {f.name for f in fields(zone) if getattr(zone, f.name) != getattr(other, f.name)}
            assert unlike - {"id", "side"} in (set(), {"cause", "family"}), zone.id
            assert unlike == {"id", "side"} or "battery" in {zone.cause, other.cause}, zone.id


@pytest.mark.parametrize(
    ("body", "attacked"),
    [
        ("open-tub", {"ot.apron"}),
        ("pickup", {"pu.apron", "pu.frame.engine_bay"}),
        ("coupe", {"mc.apron", "mc.rail.front"}),
        ("van", {"mv.corner.r"}),
    ],
)
def test_acid_follows_the_battery_to_the_side_where_it_stands(body: str, attacked: set[str]) -> None:
    for side, letter, other in (("left", "l", "r"), ("right", "r", "l")):
        plan = load_plan(body, TABLES, battery_side=side)
        acid = {zone.id for zone in plan.zones if zone.cause == "battery"}
        assert {f"{kind}.{letter}" for kind in attacked} <= acid
        assert not {f"{kind}.{other}" for kind in attacked} & acid
        for kind in attacked:
            assert plan.zone(f"{kind}.{letter}").family != plan.zone(f"{kind}.{other}").family
        crust = {tell.hidden for tell in plan.tells if tell.row == "battery-crust"}
        assert crust >= {f"{kind}.{letter}" for kind in attacked}
        assert not crust & {f"{kind}.{other}" for kind in attacked}


@pytest.mark.parametrize("body", BODIES)
def test_the_battery_stands_on_the_usual_side_unless_told_otherwise(body: str) -> None:
    usual = load_plan(body, TABLES)
    assert usual == load_plan(body, TABLES, battery_side=usual.battery_side)
    assert usual != load_plan(body, TABLES, battery_side={"left": "right", "right": "left"}[usual.battery_side])


@pytest.mark.parametrize("body", BODIES)
def test_a_zone_is_one_piece_of_metal_with_one_id(body: str) -> None:
    plan = fitted(body)
    ids = [zone.id for zone in plan.zones] + [place.id for place in plan.places]
    assert len(ids) == len(set(ids))
    assert all(zone.kind.startswith(f"{plan.code}.") for zone in plan.zones)


@pytest.mark.parametrize("body", BODIES)
def test_every_structural_zone_can_be_probed_and_has_a_thickness_to_lose(body: str) -> None:
    for zone in fitted(body).zones:
        if zone.structural == "yes":
            assert zone.probe and zone.thickness_mm[0] > 0, zone.id


@pytest.mark.parametrize("body", BODIES)
def test_metal_of_one_family_is_wetted_by_one_cause(body: str) -> None:
    causes = defaultdict(set)
    for zone in fitted(body).zones:
        causes[zone.family].add(zone.cause)
    assert {family: found for family, found in causes.items() if len(found) > 1} == {}


@pytest.mark.parametrize("body", BODIES)
def test_relations_tells_sentinels_and_places_name_zones_of_the_plan(body: str) -> None:
    for plan in (fitted(body), load_plan(body, TABLES)):
        named = {name for relation in plan.relations for name in (relation.zone, relation.of)}
        named |= {name for tell in plan.tells for name in (tell.zone, tell.hidden)}
        named |= {sentinel.zone for sentinel in plan.sentinels} | {name for place in plan.places for name in place.hidden}
        assert named <= set(plan.index)


@pytest.mark.parametrize("body", BODIES)
def test_left_speaks_of_left_and_right_of_right(body: str) -> None:
    plan = fitted(body)
    pairs = [(tell.zone, tell.hidden) for tell in plan.tells]
    pairs += [(relation.zone, relation.of) for relation in plan.relations if relation.kind != "twin"]
    for one, other in pairs:
        assert len({plan.zone(one).side, plan.zone(other).side} - {""}) <= 1, (one, other)
    for place in plan.places:
        assert {plan.zone(zone).side for zone in place.hidden} <= {place.id[-1], ""}


def test_the_centre_speaks_to_both_sides_and_both_sides_to_the_centre() -> None:
    pickup = load_plan("pickup", TABLES)
    glass = {tell.hidden for tell in pickup.tells if tell.zone == "pu.backglass"}
    assert glass == {"pu.corner.inner.l", "pu.corner.inner.r"}
    roof = {tell.zone for tell in pickup.tells if tell.hidden == "pu.roof"}
    assert roof == {"pu.driprail.l", "pu.driprail.r"}


@pytest.mark.parametrize("body", BODIES)
def test_what_covers_hidden_metal_has_signs_that_tell_of_it(body: str) -> None:
    plan = fitted(body)
    told = {(tell.zone, tell.hidden) for tell in plan.tells}
    covers = {(relation.of, relation.zone) for relation in plan.relations if relation.kind == "hidden-under"}
    assert covers and covers <= told


@pytest.mark.parametrize("body", BODIES)
def test_water_tells_downstream_and_never_upstream_by_the_same_row(body: str) -> None:
    plan = fitted(body)
    flows = {(relation.zone, relation.of) for relation in plan.relations if relation.kind == "water-path"}
    assert flows and flows <= {(tell.zone, tell.hidden) for tell in plan.tells}
    assert not {(tell.hidden, tell.zone) for tell in plan.tells if tell.row == "water-path"} & flows


@pytest.mark.parametrize("body", BODIES)
def test_every_cause_group_of_three_zones_or_more_has_a_zone_to_look_at_first(body: str) -> None:
    plan = fitted(body)
    sizes = Counter(zone.cause for zone in plan.zones)
    guarded = {plan.zone(sentinel.zone).cause for sentinel in plan.sentinels}
    assert {cause for cause, size in sizes.items() if size >= 3} <= guarded


@pytest.mark.parametrize("body", BODIES)
def test_a_zone_to_look_at_first_can_be_reached_and_rusts_twice_as_soon_as_a_flat_panel(body: str) -> None:
    """Common practice, no source."""
    plan = fitted(body)
    for zone in (plan.zone(sentinel.zone) for sentinel in plan.sentinels):
        assert zone.access <= 4 and zone.vulnerability >= 2.0, zone.id


@pytest.mark.parametrize("body", BODIES)
def test_a_dropped_door_tells_of_the_post_foot_and_the_sill_of_its_own_side(body: str) -> None:
    plan = fitted(body)
    doors = [place for place in plan.places if place.kind == "door-gap"]
    assert [place.id for place in doors] == [f"{plan.code}.gap.l", f"{plan.code}.gap.r"]
    for place in doors:
        names = " ".join(plan.zone(zone).name.lower() for zone in place.hidden)
        assert "post" in names or "pillar" in names
        assert "sill" in names or "rocker" in names
        assert place.row == "door-drop" and "ruler" in place.photo


@pytest.mark.parametrize("body", BODIES)
def test_a_cavity_is_never_called_exposed(body: str) -> None:
    for zone in fitted(body).zones:
        assert not (zone.sheltered and zone.view == "exposed"), zone.id
        if zone.view == "hidden":
            assert "hidden" in zone.seen, zone.id


@pytest.mark.parametrize("body", BODIES)
def test_a_stranger_with_a_phone_is_told_in_plain_words(body: str) -> None:
    plan = fitted(body)
    shorthand = {row.text("word") for name in ("photo_words.csv", "probe_words.csv") for row in word_rows(name)}
    for text in [zone.photo for zone in plan.zones] + [zone.probe for zone in plan.zones] + [p.photo for p in plan.places]:
        assert text.endswith(".")
        assert not shorthand & set(text.replace(",", " ").replace(".", " ").replace(":", " ").split()), text


@pytest.mark.parametrize("body", BODIES)
def test_whoever_is_sent_to_look_underneath_is_told_not_to_go_there(body: str) -> None:
    zones = fitted(body).zones
    assert any(zone.photo_underneath for zone in zones)
    for zone in zones:
        assert zone.photo_underneath == ("Do not go under the vehicle" in zone.photo), zone.id


def word_rows(name: str) -> list[Any]:
    columns = {"photo_words.csv": ("word", "instruction", "underneath"), "probe_words.csv": ("word", "instruction")}
    return TABLES.rows(name, columns[name])


def test_every_row_of_the_tell_table_is_used_or_is_a_sign_on_the_zone_itself() -> None:
    """Pin-holes of light, a painted hitch and lumps under vinyl show the zone itself; a jacked corner is measured."""
    own = {"floor-pinholes", "hitch-fresh-paint", "vinyl-lumps", "jack-gap"}
    used = {tell.row for body in BODIES for tell in fitted(body).tells}
    used |= {place.row for body in BODIES for place in fitted(body).places}
    rows = {row.text("tell") for row in TABLES.rows("tells.csv", ("tell", "meaning", *CONDITIONS))}
    assert used | own == rows
    assert not used & own


def test_water_from_upstream_speaks_more_softly_than_any_cover_over_hidden_metal() -> None:
    rows = {row.text("tell"): row for row in TABLES.rows("tells.csv", ("tell", "meaning", *CONDITIONS))}
    lift = {name: row.number("holed") / row.number("sound") for name, row in rows.items()}
    assert 1 < lift.pop("water-path") < min(lift.values())


@pytest.mark.parametrize("body", BODIES)
def test_original_sheet_lies_within_the_gauges_that_are_rolled(body: str) -> None:
    """Manufacturers' Standard Gauge (craginmetals.com/chart.html): 24 gauge 0.0239 in, 10 gauge 0.1345 in, 16 gauge 0.0598 in,
    cold-rolled 0.0548 to 0.0648 in; 6 gauge 0.1943 in from memory, and the same rolling tolerance of about 8 % taken for it.
    """
    for zone in fitted(body).zones:
        ladder = zone.kind.startswith(("ot.frame", "pu.frame", "sr.ch"))
        thinnest, thickest = (0.0548, 0.1943 * 1.08) if ladder else (0.0239, 0.1345)
        low, high = zone.thickness_mm
        assert thinnest * 25.4 <= low <= high <= thickest * 25.4, zone.id
