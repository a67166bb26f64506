"""The drawings: every zone can be found and tapped, both sides alike, and belief shows on them."""

from __future__ import annotations

import gzip
import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from itertools import pairwise
from math import dist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weldworth.core.errors import BadInput, NotFound
from weldworth.drawings import ask, bodies, svg, tinted, views
from weldworth.drawings.ground import MIDDLE, MM_PER_UNIT, ground
from weldworth.drawings.shelf import SHIPPED
from weldworth.drawings.toned import RAMP, hatching, tone
from weldworth.tables.load import load_tables
from weldworth.vehicle.plans import load_plan, plan_options

SVG = "{http://www.w3.org/2000/svg}"
FINGER = 24.0  # WCAG 2.2, success criterion 2.5.8, target size (minimum): 24 by 24 CSS px
EVERY_VIEW = [(body, view.name) for body in bodies() for view in views(body)]
NUMBER = re.compile(r"-?\d+\.?\d*")


def twin(zone: str) -> str:
    return zone[:-1] + {"l": "r", "r": "l"}[zone[-1]] if zone.endswith((".l", ".r")) else zone


def plan_zones(body: str) -> set[str]:
    """Every zone of the body's plan, those that come with an option included."""
    tables = load_tables()
    return {zone.id for zone in load_plan(body, tables, options=[*plan_options(body, tables)]).zones}


def rings(d: str) -> Iterator[list[tuple[float, float]]]:
    """The closed lines, or open ones, of path data made of M, l, h, v, c and z; cubics sampled at their quarters."""
    line: list[tuple[float, float]] = []
    x = y = 0.0
    for command, rest in re.findall(r"([Mlhvcz])([^Mlhvcz]*)", d):
        n = [float(q) for q in NUMBER.findall(rest)]
        if command == "M":
            if len(line) > 1:
                yield line
            x, y = n
            line = []
        elif command in "hv":
            x, y = (x + n[0], y) if command == "h" else (x, y + n[0])
        elif command == "z":
            x, y = line[0]
        else:
            if command == "c":
                for t in (0.25, 0.5, 0.75):
                    b1, b2, b3 = 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
                    line.append((x + b1 * n[0] + b2 * n[2] + b3 * n[4], y + b1 * n[1] + b2 * n[3] + b3 * n[5]))
            x, y = x + n[-2], y + n[-1]
        line.append((x, y))
    if line:
        yield line


def thickness(line: list[tuple[float, float]]) -> float:
    """2 x area / outline of a closed line: the width of a long strip. The area by the shoelace formula."""
    sides = [*pairwise(line), (line[-1], line[0])]
    area = abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in sides)) / 2
    return 2 * area / sum(dist(a, b) for a, b in sides)


def extent(d: str) -> tuple[float, float, float, float]:
    """Bounds of path data."""
    xs, ys = zip(*(point for line in rings(d) for point in line), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize("body", bodies())
def test_every_zone_of_the_plan_is_drawn_and_nothing_else(body: str) -> None:
    shown = {zone for view in views(body) for zone in view.zones}
    assert shown == plan_zones(body)


@pytest.mark.parametrize("body", bodies())
def test_a_finger_finds_every_zone_somewhere_at_phone_width(body: str) -> None:
    best = {zone: max(view.taps.get(zone, 0.0) for view in views(body)) for zone in plan_zones(body)}
    assert {zone: px for zone, px in best.items() if px < FINGER} == {}


@pytest.mark.parametrize("body", bodies())
def test_what_is_drawn_on_the_left_is_drawn_on_the_right(body: str) -> None:
    def other_side(name: str) -> str:
        return {"left": "right", "right": "left"}.get(name) or re.sub(
            "-[lr]$", lambda end: {"-l": "-r", "-r": "-l"}[end[0]], name
        )

    zones = plan_zones(body)
    two_sided = {zone for zone in zones if twin(zone) in zones}
    shown = {view.name: set(view.zones) for view in views(body)}
    for view in views(body):
        if view.form == "whole" and view.name != "three-quarter":
            lone = {zone for zone in shown[view.name] & two_sided if twin(zone) not in shown[other_side(view.name)]}
            assert {zone for zone in lone if not (zone.endswith(".battery") or ".slide." in zone)} == set(), view.name


@pytest.mark.parametrize("body", bodies())
def test_the_two_sides_can_be_tapped_alike(body: str) -> None:
    best = {zone: max(view.taps.get(zone, 0.0) for view in views(body)) for zone in plan_zones(body)}
    for zone in best:
        if twin(zone) in best:
            assert best[zone] == pytest.approx(best[twin(zone)], rel=0.15), zone


@pytest.mark.parametrize(("body", "view"), EVERY_VIEW)
def test_a_view_is_well_formed_and_names_each_zone_once(body: str, view: str) -> None:
    root = ElementTree.fromstring(svg(body, view))
    zones = [path.get("data-zone") for path in root.iter(f"{SVG}path") if path.get("class") == "zone"]
    assert len(zones) == len(set(zones))
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert ids == [f"{view}--{zone}" for zone in zones]
    listed = next(item for item in views(body) if item.name == view).zones
    assert set(listed) <= set(zones)


@pytest.mark.parametrize("body", bodies())
def test_no_line_leaves_the_sheet(body: str) -> None:
    for view in views(body):
        if view.form != "whole":
            continue
        root = ElementTree.fromstring((SHIPPED / body / view.file).read_text(encoding="utf-8"))
        _, _, width, height = (float(q) for q in root.attrib["viewBox"].split())
        for path in root.iter(f"{SVG}path"):
            x0, y0, x1, y1 = extent(path.attrib["d"])
            slack = 0.01 * width
            assert x0 >= -slack and y0 >= -slack and x1 <= width + slack and y1 <= height + slack, (
                view.name,
                path.get("data-zone"),
            )


@pytest.mark.parametrize("body", bodies())
def test_no_piece_of_a_zone_is_a_crumb_from_the_sides_and_above(body: str) -> None:
    """A piece thinner than the pixel of a desk 1440 px wide is a blot to the eye."""
    for view in (view for view in views(body) if view.name in ("left", "right", "plan")):
        root = ElementTree.fromstring((SHIPPED / body / view.file).read_text(encoding="utf-8"))
        for path in root.iter(f"{SVG}path"):
            if path.get("class") == "zone":
                thinnest = min(thickness(line) for line in rings(path.attrib["d"]))
                assert thinnest * 1440 >= view.size[0], (view.name, path.get("data-zone"))


@pytest.mark.parametrize("body", bodies())
def test_the_files_stay_small_enough_for_a_phone_on_bad_reception(body: str) -> None:
    sizes = {path.name: path.stat().st_size for path in (SHIPPED / body).glob("*.svg")}
    assert sizes and max(sizes.values()) < 60_000, sizes
    packed = {path.name: len(gzip.compress(path.read_bytes(), 6)) for path in (SHIPPED / body).glob("*.svg")}
    assert max(packed.values()) < 20_000, packed


@pytest.mark.parametrize("body", bodies())
def test_no_file_lies_on_the_shelf_that_the_index_does_not_name(body: str) -> None:
    named = {name for view in views(body) for name in (view.file, view.taps_file) if name}
    assert {path.name for path in (SHIPPED / body).iterdir() if path.is_file()} == named | {"index.json"}


def test_a_portrait_form_is_the_same_drawing_turned_upright() -> None:
    shown = {view.name: view for view in views("pickup")}
    whole, tall = shown["below"], shown["below-tall"]
    assert tall.size == whole.size[::-1] and tall.size[0] < tall.size[1]
    assert {zone for zone in whole.zones} <= set(tall.zones)
    assert sum(tall.taps[zone] >= whole.taps[zone] for zone in whole.zones) > 0.9 * len(whole.zones)


def test_worse_is_deeper_and_sound_is_pale() -> None:
    assert [tone(k / 8) for k in range(9)] == list(RAMP)

    # relative luminance falls step by step (WCAG 2.2, definition of relative luminance), so that the ramp reads in grey
    def luminance(colour: str) -> float:
        parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
        r, g, b = (q / 12.92 if q <= 0.04045 else ((q + 0.055) / 1.055) ** 2.4 for q in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    light = [luminance(colour) for colour in RAMP]
    assert light == sorted(light, reverse=True)


@given(st.floats(0, 1), st.floats(0, 1))
@settings(max_examples=60, deadline=None)
def test_the_less_sure_the_closer_the_hatch(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert 0 <= hatching(low) <= hatching(high) <= 3


def test_a_toned_view_carries_tint_hatch_dashes_and_the_chosen_zone() -> None:
    bad, sure, seen, picked = "pu.door.low.l", "pu.rocker.outer.l", "pu.corner.outer.l", "pu.fender.low.l"
    drawn = tinted("pickup", "left", {bad: 1.0, sure: 0.0}, {bad: 0.9, sure: 0.1}, [seen], picked)
    root = ElementTree.fromstring(drawn)
    tones = {path.get("data-zone"): path.get("style") for path in root.iter(f"{SVG}path") if path.get("class") == "zone"}
    assert tones[bad] == f"fill:{RAMP[-1]}" and tones[sure] == f"fill:{RAMP[0]}" and tones[picked] is None
    assert len(root.findall(f".//{SVG}pattern")) == 1
    assert drawn.count("stroke-dasharray") == 1 and drawn.count("#7a2363") == 1


def test_zones_that_a_view_does_not_show_leave_it_plain() -> None:
    assert tinted(
        "pickup", "bed", {"pu.frame.horn.l": 0.5}, {"pu.frame.horn.l": 0.9}, ["pu.frame.horn.l"], "pu.frame.horn.l"
    ) == svg("pickup", "bed")


def test_shares_outside_nought_to_one_are_refused_all_at_once() -> None:
    with pytest.raises(BadInput) as refused:
        tinted("pickup", "left", {"pu.hood": 1.2}, {"pu.hood": -0.1, "pu.roof": float("nan")})
    assert len(refused.value.problems) == 3


def test_an_unknown_body_or_view_names_the_nearest() -> None:
    with pytest.raises(BadInput, match="nearest: 'pickup'"):
        views("pickpu")
    with pytest.raises(BadInput, match="nearest: 'below'"):
        svg("pickup", "belov")


@pytest.mark.parametrize("body", bodies())
def test_every_picture_that_a_zone_asks_for_has_its_pictogram(body: str) -> None:
    for zone in load_plan(body, load_tables()).zones:
        pictures = max(1, zone.photo.count("Picture "))
        for number in range(1, pictures + 1):
            drawn = ask(body, zone.id, number)
            ElementTree.fromstring(drawn)
            assert len(drawn.encode()) < 12_000, (zone.id, number)
        with pytest.raises(NotFound):
            ask(body, zone.id, pictures + 1)


def test_a_pictogram_of_something_unknown_is_not_found() -> None:
    with pytest.raises(NotFound, match=r"\.\./secrets"):
        ask("pickup", "../secrets")


@pytest.mark.parametrize("body", bodies())
def test_a_pictogram_stands_on_the_side_that_its_zone_is_on(body: str) -> None:
    """From above with the nose to the left, the driver's left lies at the foot of the sheet: plain geometry."""
    for zone in load_plan(body, load_tables()).zones:
        camera = re.search(r"translate\([\d.]+ ([\d.]+)\) rotate", ask(body, zone.id))
        aimed = re.search(r'<circle cx="[\d.]+" cy="([\d.]+)"', ask(body, zone.id))
        assert camera and aimed
        if zone.side and abs(float(aimed[1]) - 32) > 3:
            assert (float(aimed[1]) > 32) == (zone.side == "l"), zone.id
            if zone.station == "outside":
                assert (float(camera[1]) > 32) == (zone.side == "l"), zone.id


GO_ON = re.compile(r'<path d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)M[^"]*" fill="none" stroke="#7a2363"')


@pytest.mark.parametrize("body", bodies())
def test_arrows_go_on_along_a_long_zone_and_end_on_the_vehicle(body: str) -> None:
    """Plain geometry: an arrow begins at what is aimed at, and its head is nowhere but under the vehicle."""
    standing = ground(body)
    seen = 0
    for path in (SHIPPED / body / "asks").glob("*.svg"):
        drawn = path.read_text(encoding="utf-8")
        arrows = [[float(q) for q in arrow.groups()] for arrow in GO_ON.finditer(drawn)]
        said = re.search(r'data-onward="(\d)"', drawn)
        assert len(arrows) == (int(said[1]) if said else 0), path.name
        aimed = re.search(r'<circle cx="([\d.]+)" cy="([\d.]+)"', drawn)
        for x0, y0, x1, y1 in arrows:
            assert aimed and (x0, y0) == (float(aimed[1]), float(aimed[2])), path.name
            assert 300 < dist((x0, y0), (x1, y1)) * MM_PER_UNIT < standing.length, path.name
            assert abs(x1 - MIDDLE[0]) * MM_PER_UNIT < standing.length / 2, path.name
            assert abs(y1 - MIDDLE[1]) * MM_PER_UNIT < standing.width / 2, path.name
        seen += len(arrows)
    assert seen


def test_the_arrows_along_the_left_rail_run_along_the_vehicle_and_apart() -> None:
    """A rail of a ladder frame runs lengthwise: along the sheet, whose vehicle lies with its nose to the left."""
    ahead, back = ([float(q) for q in arrow.groups()] for arrow in GO_ON.finditer(ask("pickup", "pu.frame.top_bed.l")))
    for x0, y0, x1, y1 in (ahead, back):
        assert abs(x1 - x0) > 5 * abs(y1 - y0)
    assert (ahead[2] - ahead[0]) * (back[2] - back[0]) < 0
