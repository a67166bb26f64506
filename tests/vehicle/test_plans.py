"""The five body plans and the reading of plans that a user writes.

Counts, relations and vulnerabilities are common practice, no source; sheet thickness is held against the Manufacturers'
Standard Gauge for sheet steel, http://www.craginmetals.com/chart.html.
"""

from __future__ import annotations

import copy
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.tables.load import Tables, load_tables
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.vehicle.plan import Plan
from weldworth.vehicle.plan_keys import KEYS, SECTIONS
from weldworth.vehicle.plans import load_plan, plan_options

DATA = Path(__file__).parent / "data"
WRITTEN = (DATA / "plans" / "three-wheeler.toml").read_text(encoding="utf-8")
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


# --- a plan of one's own ---------------------------------------------------------------------------------------------


def shop(folder: Path, text: str = WRITTEN, body: str = "three-wheeler") -> Tables:
    """The shipped tables with one plan file of the shop's own laid over them."""
    (folder / "plans").mkdir(exist_ok=True)
    (folder / "plans" / f"{body}.toml").write_text(text, encoding="utf-8")
    return Tables(overlay=folder)


def problems(text: str, folder: Path) -> list[str]:
    with pytest.raises(BadInput) as caught:
        load_plan("three-wheeler", shop(folder, text))
    return [str(problem) for problem in caught.value.problems]


def test_a_shop_adds_a_body_by_putting_a_file_in_its_plans_folder(tmp_path: Path) -> None:
    tables = shop(tmp_path)
    assert {"three-wheeler", *BODIES} == set(tables.plan_names())
    plan = load_plan("three-wheeler", tables)
    assert [zone.id for zone in plan.zones] == [
        *("tw.fork", "tw.sill.outer.l", "tw.sill.outer.r", "tw.sill.inner.l", "tw.sill.inner.r"),
        *("tw.tray", "tw.apron.l", "tw.apron.r", "tw.tail"),
    ]
    assert plan.zone("tw.tray").side == "l"
    assert (plan.zone("tw.apron.l").cause, plan.zone("tw.apron.r").cause) == ("battery", "lower")
    assert [(t.zone, t.hidden) for t in plan.tells if t.row == "battery-crust"] == [("tw.tray", "tw.apron.l")]
    twins = {(r.zone, r.of): r.strength for r in plan.relations if r.kind == "twin"}
    assert twins[("tw.sill.outer.l", "tw.sill.outer.r")] == 0.6
    assert twins[("tw.apron.l", "tw.apron.r")] is None
    assert plan.places[1].hidden == ("tw.sill.outer.r", "tw.fork")


def test_an_option_of_ones_own_brings_its_zone_on_the_sliding_side_and_its_changes(tmp_path: Path) -> None:
    plan = load_plan("three-wheeler", shop(tmp_path), options=("luggage-rack",))
    assert plan.zone("tw.hatch").side == "r"
    assert (plan.zone("tw.tail").vulnerability, plan.zone("tw.tail").view) == (2.5, "half")


def test_a_file_of_a_shipped_name_replaces_the_shipped_plan(tmp_path: Path) -> None:
    text = WRITTEN.replace('body = "three-wheeler"', 'body = "van"')
    assert load_plan("van", shop(tmp_path, text, "van")).code == "tw"


def test_the_small_plan_printed_in_the_handbook_loads(tmp_path: Path) -> None:
    page = (Path(__file__).parents[2] / "docs" / "plans.md").read_text(encoding="utf-8")
    text = page.split("```toml\n", 1)[1].split("```", 1)[0]
    body = tomllib.loads(text)["body"]
    assert load_plan(body, shop(tmp_path, text, body)).zones


def test_every_key_of_a_plan_file_is_explained_in_the_handbook() -> None:
    page = (Path(__file__).parents[2] / "docs" / "plans.md").read_text(encoding="utf-8")
    keys = {key for needed, more in KEYS.values() for key in needed | more} - set(SECTIONS)
    assert [key for key in sorted(keys) if f"`{key}`" not in page] == []
    assert [section for section in SECTIONS if f"`[[{section}]]`" not in page] == []


def test_a_body_without_a_plan_is_refused_by_the_nearest_name() -> None:
    with pytest.raises(BadInput, match="body 'pickupp' is not known here; nearest: 'pickup'"):
        load_plan("pickupp", TABLES)


def test_an_unknown_option_and_side_are_refused_together() -> None:
    with pytest.raises(BadInput) as caught:
        load_plan("coupe", TABLES, options=("sun-roof",), battery_side="leftt")
    text = str(caught.value)
    assert "option 'sun-roof' is not known here; nearest: 'sunroof'" in text
    assert "battery side 'leftt' is not known here; nearest: 'left'" in text


def test_an_option_on_a_body_that_has_none_is_refused() -> None:
    with pytest.raises(BadInput, match="plan roadster: option 'sunroof': this body has no options"):
        load_plan("roadster", TABLES, options=("sunroof",))


REFUSALS = [
    ('code = "tw"\n', "", "three-wheeler.toml: key 'code' is missing"),
    ('code = "tw"', 'code = "tw"\ncolour = "red"', "key 'colour' is not known"),
    ("access = 4\n", "", "zone tw.sill.inner: key 'access' is missing; give a whole number"),
    ('station = "inside"', 'staton = "inside"', "zone tw.sill.inner: key 'staton' is not known; nearest: 'station'"),
    ("access = 4", 'access = "hard"', "zone tw.sill.inner: access is 'hard'; give a whole number"),
    ("access = 4", "access = 6", "zone tw.sill.inner: access is 6; give 1 (easy) to 5 (hardly possible)"),
    ("access = 4", "access = 0", "zone tw.sill.inner: access is 0"),
    ('cause = "rear"', 'cause = "raer"', "zone tw.tail: cause: cause 'raer' is not known here; nearest: 'rear'"),
    (
        'station = "inside"',
        'station = "inside it"',
        "zone tw.sill.inner: station: station 'inside it' is not known here; nearest: 'inside'",
    ),
    ('side = "slide"', 'side = "sliding"', "zone tw.hatch: side: side 'sliding' is not known here; nearest: 'slide'"),
    (
        'view = "hidden"\nseen = "hidden"\n',
        'view = "hiden"\nseen = "hidden"\n',
        "view 'hiden' is not known here; nearest: 'hidden'",
    ),
    ('structural = "partly"\nstr', 'structural = "part"\nstr', "structural 'part' is not known here; nearest: 'partly'"),
    ('"bubbling"', '"bubling"', "tell 1: signs: sign 'bubling' is not known here; nearest: 'bubbling'"),
    (
        'row = "sill-blisters"',
        'row = "sill-blister"',
        "tell 1: row: tell row 'sill-blister' is not known here; nearest: 'sill-blisters'",
    ),
    ('row = "door-drop"', 'row = "door-drops"', "place tw.gap: row: tell row 'door-drops' is not known here"),
    ('["RAKE", ""]', '["RAKES", ""]', "zone tw.sill.outer: photo: photo word 'RAKES' is not known here; nearest: 'RAKE'"),
    ('["SCOPE", ""]', '["SCOP", ""]', "zone tw.sill.inner: probe: probe word 'SCOP' is not known here; nearest: 'SCOPE'"),
    ('[["GAP", ""]]', '[["GAPE", ""]]', "place tw.gap: photo: photo word 'GAPE' is not known here; nearest: 'GAP'"),
    ('[["GAP", ""]]', '"GAP"', "place tw.gap: photo is 'GAP'; give a list of [WORD, \"detail\"] pairs"),
    (
        "thickness_mm = [2.0, 2.6]",
        "thickness_mm = [2.6, 2.0]",
        "zone tw.fork: thickness_mm is [2.6, 2.0]; give lowest, then highest",
    ),
    ("thickness_mm = [2.0, 2.6]", "thickness_mm = [0.0, 2.0]", "zone tw.fork: thickness_mm is [0.0, 2.0]"),
    ("thickness_mm = [2.0, 2.6]", "thickness_mm = 2.0", "zone tw.fork: thickness_mm is 2.0; give two numbers"),
    ("thickness_mm = [2.0, 2.6]", "thickness_mm = [2.0, nan]", "zone tw.fork: thickness_mm is [2.0, nan]; give two numbers"),
    ("vulnerability = 1.8", "vulnerability = 0", "zone tw.fork: vulnerability is 0; give a number above 0"),
    ("vulnerability = 2.5", "vulnerability = -1", "option luggage-rack: change 1: vulnerability is -1"),
    (
        'zone = "tw.tail"',
        'zone = "tw.tial"',
        "option luggage-rack: change 1: zone: zone 'tw.tial' is not known here; nearest: 'tw.tail'",
    ),
    ('id = "tw.tail"', 'id = "tw.tray"', "three-wheeler.toml: id 'tw.tray' is given 2 times"),
    ('id = "tw.gap"', 'id = "tw.tray"', "three-wheeler.toml: id 'tw.tray' is given 2 times"),
    ('id = "tw.hatch"', 'id = "hatch"', "zone hatch: id 'hatch' does not begin with the plan's code; write 'tw.hatch'"),
    ('of = "tw.sill.outer"\nstrength', 'of = "tw.sill.out"\nstrength', "relation 1: of: zone 'tw.sill.out' is not known here"),
    (
        'kind = "front-rear"',
        'kind = "front-back"',
        "relation 2: kind: relation 'front-back' is not known here; nearest: 'front-rear'",
    ),
    (
        "strength = 0.6\n\n[[relation]]",
        "strength = 1.6\n\n[[relation]]",
        "relation 1: strength is 1.6; give a correlation from 0 to 1",
    ),
    ("twin_strength = 0.6", "twin_strength = 7", "three-wheeler.toml: twin_strength is 7; give a correlation from 0 to 1"),
    ('zone = "tw.tray"\nsigns', 'zone = "tw.try"\nsigns', "tell 2: zone: zone 'tw.try' is not known here; nearest: 'tw.tray'"),
    ('hidden = "tw.apron"', 'hidden = "tw.tray"', "tell 2: zone and hidden are both 'tw.tray'"),
    (
        'zone = "tw.sill.outer"\nof',
        'zone = "tw.sil.outer"\nof',
        "sentinel 1: zone: zone 'tw.sil.outer' is not known here; nearest",
    ),
    ('hidden = ["tw.sill.outer", "tw.fork"]', 'hidden = ["tw.frok"]', "place tw.gap: hidden: zone 'tw.frok' is not known here"),
    ('family = "tail"', 'family = "sill"', "zone tw.tail: family 'sill' spans two causes, 'lower' (tw.sill.outer) and 'rear'"),
    (
        'option = "luggage-rack"',
        'option = "rack"',
        "zone tw.hatch: option: option 'rack' is not known here; nearest: 'luggage-rack'",
    ),
    ('slide_side = "right"\n', "", "key 'slide_side' is missing although something lies on the side of the sliding door"),
    ('battery_side = "left"', 'battery_side = "front"', "battery_side: side 'front' is not known here"),
    ('basis = "guess"', 'basis = "hearsay"', "basis: basis 'hearsay' is not known here"),
    ('body = "three-wheeler"', 'body = "four-wheeler"', "body is 'four-wheeler' but the file is named 'three-wheeler'"),
    ('id = "tw.tail"', 'id = "tw.tail"\nacid = true', "zone tw.tail: acid is true on a zone that does not lie on both sides"),
    ('name = "Door gap"', 'name = "Door gap', "plans/three-wheeler.toml: cannot be read as TOML"),
]


@pytest.mark.parametrize(("right", "wrong", "said"), REFUSALS)
def test_a_mistake_in_a_plan_is_refused_by_file_zone_key_and_remedy(right: str, wrong: str, said: str, tmp_path: Path) -> None:
    assert right in WRITTEN
    found = problems(WRITTEN.replace(right, wrong, 1), tmp_path)
    assert any(said in text for text in found), found
    assert all(text.startswith("plans/three-wheeler.toml") for text in found)


def test_a_sign_that_would_count_twice_for_the_same_hidden_metal_is_refused(tmp_path: Path) -> None:
    again = '[[tell]]\nzone = "tw.sill.outer"\nsigns = ["hole"]\nhidden = "tw.sill.inner"\nrow = "water-path"\n\n[[sentinel]]'
    found = problems(WRITTEN.replace("[[sentinel]]", again, 1), tmp_path)
    assert found == [
        "plans/three-wheeler.toml: tell 3: 'hole' on tw.sill.outer already speaks of tw.sill.inner in tell 1; keep one of the two"
    ]


def test_acid_without_a_battery_row_in_the_causes_is_refused(tmp_path: Path) -> None:
    rows = TABLES.path("causes.csv").read_text(encoding="utf-8").replace("\nbattery,", "\nacid,")
    (tmp_path / "causes.csv").write_text(rows, encoding="utf-8")
    found = problems(WRITTEN, tmp_path)
    assert any("causes.csv has no cause 'battery'" in text for text in found)


def test_a_plan_without_zones_is_refused(tmp_path: Path) -> None:
    text = WRITTEN.split("[[option]]")[0]
    assert problems(text, tmp_path) == ["plans/three-wheeler.toml: there is no zone; write at least one [[zone]]"]


def test_all_mistakes_of_one_file_are_told_in_one_go(tmp_path: Path) -> None:
    edits = [edit for edit in REFUSALS if edit[0] in ("access = 4\n", 'cause = "rear"', "vulnerability = 1.8", '"bubbling"')]
    edits += [
        edit for edit in REFUSALS if edit[0] in ('id = "tw.gap"', "twin_strength = 0.6", 'kind = "front-rear"', '["RAKE", ""]')
    ]
    text = WRITTEN
    for right, wrong, _ in edits:
        text = text.replace(right, wrong, 1)
    found = problems(text, tmp_path)
    assert len(edits) == len(found) == 8
    for _, _, said in edits:
        assert any(said in text for text in found), said


# --- no file, however wrong, breaks the reader -----------------------------------------------------------------------


@dataclass(frozen=True)
class GivenPlan(Tables):
    """The shipped tables with the plan given as data."""

    plan: Any = None

    def toml(self, name: str) -> dict[str, object]:
        return self.plan  # type: ignore[no-any-return]

    def plan_names(self) -> list[str]:
        return ["three-wheeler"]


def spots(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in nested lists and tables at which something could be put instead."""
    if path:
        yield path
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in inner:
        yield from spots(part, (*path, key))


RIGHT = tomllib.loads(WRITTEN)
JUNK: st.SearchStrategy[Any] = st.sampled_from(
    [None, "", "x", "tw.tray", 0, -1, 3.5, float("nan"), float("inf"), True, [], [[]], [1, 2], ["x"], {}, [{}]]
)


@settings(max_examples=300)
@given(st.sampled_from(list(spots(RIGHT))), JUNK)
def test_whatever_stands_in_place_of_a_value_is_read_or_refused_with_its_file(path: tuple[Any, ...], junk: Any) -> None:
    plan = copy.deepcopy(RIGHT)
    holder: Any = plan
    for key in path[:-1]:
        holder = holder[key]
    if junk is None and isinstance(holder, dict):
        del holder[path[-1]]
    else:
        holder[path[-1]] = junk
    try:
        laid_out = load_plan("three-wheeler", replace(GivenPlan(), plan=plan), options=("luggage-rack",))
    except BadInput as error:
        assert all("three-wheeler" in problem.where for problem in error.problems)
    else:
        assert laid_out.zones
