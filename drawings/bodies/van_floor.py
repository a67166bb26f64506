"""The van from inside: cab and load floor, wheel houses, steps, dash, windshield lip, anchor plates, engine bay, section edge."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import Shape, block, disc, shape
from engine.sides import Side, centre, sides
from engine.solid import Body, Label
from parts.seats import lever, pedals, seat_feet, steering
from shapely.affinity import translate
from shapely.geometry import LineString
from shapely.ops import linemerge

from bodies.van_shape import (
    ALL,
    CAB_FLOOR,
    CODE,
    DECK,
    DOOR,
    FLOOR,
    FRONT_ARCH,
    LINE,
    NOSE_U,
    REAR_ARCH,
    SILL_IN,
    SLIDE,
    SLIDE_END,
    STEP,
    TAIL,
    TAIL_U,
    WALL,
    side_y,
    skin,
    skin_sheet,
)

HOUSE_F, HOUSE_R, BACK = 490, 540, 2068
FRONT_HOUSE = FRONT_ARCH.buffer(16)
REAR_HOUSE = REAR_ARCH.buffer(16) | translate(REAR_ARCH.buffer(16), 0, 56)
BULK, LOCK_X = 420, 426.0
PANS = ("floor", 0.0, ""), ("floorunder", -5.0, "under")


def _inner(x0: float, x1: float, z: float, gap: float) -> list[tuple[float, float]]:
    """Points (x, y) of the skin's inside at height z between x0 and x1."""
    u = np.linspace(NOSE_U, x1, 200) if x0 < -600 else np.linspace(x0, x1, 80)
    x, y, _ = skin(u, z + 0 * u)
    _, _, nx, ny = LINE.along(u)
    return [(float(p), float(q)) for p, q in zip(x - gap * nx, y - gap * ny, strict=True)]


def cab_plan(side: Side) -> Shape:
    """The cab floor of one side in plan, the wheel house left out."""
    edge = [(x, y if x < DOOR else min(y, SILL_IN - 2)) for x, y in _inner(NOSE_U, BULK, CAB_FLOOR, 16)]
    plan = shape(*side.points(*edge, (BULK, 0), (edge[0][0], 0)))
    return plan - side.flat(-398, HOUSE_F, 398, 900)


def floor_side(b: Body, side: Side, slide: bool) -> None:
    """Cab floor, toe board, inner sill ledge, steps, wheel houses of one side."""
    L, flat, C = side.label, side.flat, centre(CODE)
    channel = block(-640, -74, BULK, 74)
    cab = cab_plan(side) - channel
    ribs = [flat(-330, q, 220, q + 34, 16) for q in (130, 240, 340)]
    for part, dz, name in PANS:
        paint = [(L("cab" + name, "cabfloor"), cab)]
        paint += [(L(f"cab/{k}", "cabfloor"), q) for k, q in enumerate(ribs) if not name]
        b.plate(part, "xy", CAB_FLOOR + dz, paint, step=40)
    b.plate("sillledge", "xy", FLOOR + 3, [(L("sillledge", "sill.in"), flat(BULK, SILL_IN - 44, BACK, SILL_IN + 36))])
    tread = shape(*side.points((DOOR + 8, 660), (-413, 660), (-413, 806), (DOOR + 8, 806)), r=12)
    b.plate(
        "step",
        "xy",
        STEP + 4,
        [
            (L("steptread", "step"), tread),
            *((L(f"steptread/{k}", "step"), flat(-566, q, -440, q + 14, 6)) for k, q in enumerate((700, 736, 772))),
        ],
    )
    b.plate("step", "xz", side.s * 658, [(L("stepriser", "step"), block(DOOR + 8, STEP, -413, CAB_FLOOR))])
    if slide:
        box = flat(SLIDE, 664, SLIDE_END, 832, 10)
        b.plate("slidestep", "xy", FLOOR + 7, [(C("slidetread", "slide.step"), box)])
        b.plate("slidestep", "xy", FLOOR + 10, [(C("lowtrack", "slide.track"), flat(SLIDE + 30, 776, SLIDE_END - 30, 812, 10))])
        b.plate("slidestep", "xy", FLOOR + 12, [(C("lowslot", None, "well"), flat(SLIDE + 50, 788, SLIDE_END - 50, 798, 4))])
    _house(b, side, "f", FRONT_HOUSE, HOUSE_F, 330)
    _house(b, side, "r", REAR_HOUSE, HOUSE_R, FLOOR - 130)


def _house(b: Body, side: Side, end: str, outline: Shape, inner: float, low: float) -> None:
    """A wheel house: inner wall, and barrel along its outline in side view."""
    label = side.label(f"house{end}", f"arch.{end}.in")
    upper = block(-ALL, low, ALL, ALL)
    b.plate("archhouse", "xz", side.s * inner, [(label, outline & upper)])
    cut = outline.exterior & upper
    path = np.asarray((linemerge(cut) if cut.geom_type == "MultiLineString" else cut).segmentize(16).coords)

    def barrel(U: Any, V: Any) -> tuple[Any, Any, Any]:
        px, pz = path[U.astype(int), 0], path[U.astype(int), 1]
        outer = side_y(px, np.maximum(pz, 300)) - 14
        return px, side.s * (inner + (outer - inner) * V / 100), pz

    b.sheet("archhouse", barrel, np.arange(len(path)), [0, 50, 100], label)


def floor_middle(b: Body) -> None:
    """Load floor with its beads, bulkheads, deck over the engine, ply board with a corner lifted."""
    C = centre(CODE)
    edge = SILL_IN - 44
    plan = block(BULK, -edge, BACK, edge) | block(BACK, -HOUSE_R + 2, WALL, HOUSE_R - 2)
    beads = [block(x, y - 250, x + 44, y + 250, 20) for x in range(500, 1900, 190) for y in (-340, 340)]
    for part, dz, name in PANS:
        paint = [(C("load" + name, "floor"), plan)]
        paint += [(C(f"load/{k}", "floor"), q) for k, q in enumerate(beads) if not name]
        b.plate(part, "xy", FLOOR + dz, paint)
    b.plate("floor", "yz", BULK, [(C("bulk", "floor"), block(-SILL_IN + 2, FLOOR, SILL_IN - 2, CAB_FLOOR))])
    ply = plan.buffer(-16) - shape((BULK, edge), (BULK + 520, edge), (BULK, edge - 420))
    b.plate(
        "ply",
        "xy",
        FLOOR + 14,
        [(C("ply", None, "soft"), ply), (C("ply/join", None, "soft"), ply & block(1240, -ALL, 1246, ALL))],
    )
    fold = shape((BULK + 504, edge - 16), (BULK + 16, edge - 416), (BULK + 330, edge - 330))
    b.plate("ply", "xy", FLOOR + 60, [(C("plyfold", None, "part"), fold)])
    back = shape(*[(TAIL - 120 - 46 * (q / 800) ** 2, q) for q in np.linspace(-742, 742, 40)], (WALL, 742), (WALL, -742))
    hatch = block(2690, -420, 3160, 420, 40)
    b.plate(
        "deck",
        "xy",
        DECK,
        [(C("deck"), back), (C("deck/hatch"), hatch), (C("deck/in"), hatch.buffer(-30))],
    )
    under = shape(*[(TAIL - 60 - 46 * (q / 800) ** 2, q) for q in np.linspace(-770, 770, 40)], (WALL, 770), (WALL, -770))
    beside = block(0, HOUSE_R - 2, 2812, ALL) | block(0, -ALL, 2812, 2 - HOUSE_R)
    b.plate("deckunder", "xy", 646, [(C("deckunder", None, "soft"), under - beside)])
    b.plate("deck", "yz", WALL - 3, [(C("deckfront"), block(-742, FLOOR, 742, DECK))])


def bay(b: Body, side: Side, battery: bool) -> None:
    """Seal ledge of one side of the engine bay, battery shelf on its side."""
    C, flat = centre(CODE), side.flat
    ring = flat(WALL + 6, 380, 3236, 540) - flat(WALL + 6, 380, 3160, 450)
    b.plate(
        "ledge", "xy", 628, [(C("ledge", "enginebay"), ring), (C("ledge/seal", "enginebay"), flat(WALL + 20, 462, 3150, 474))]
    )
    b.plate("ledge", "xy", 626, [(C("ledge", "enginebay"), flat(3160, 0, 3236, 400))])
    wall = _inner(2806, TAIL_U, 624, 10)
    tray = shape(*side.points(*wall, (3236, 0), (3236, 540), (2806, 540)))
    b.plate("ledge", "xy", 624, [(C("baytray"), tray)])
    if battery:
        tray = flat(2880, 548, 3150, 726, 14)
        b.prism("battery", "xy", tray, 640, 652, C("tray", "battery"))
        b.prism("battery", "xy", tray - tray.buffer(-16), 652, 676, C("tray/lip", "battery"))
        b.plate("battery", "xy", 653, [(C("traydrain", None, "well"), disc(3104, side.s * 690, 11))])


def inside(b: Body, side: Side) -> None:
    """Inner sill and what is fixed to the walls inside: anchor plates, posts, window frames."""
    L, s = side.label, side.s
    for x, z, y in ((LOCK_X, 930, 0), (LOCK_X, 600, 0), (2000, 930, 0)):
        at = float(side_y(x, z)) - 26 - y
        plate = block(x - 62, z - 62, x + 62, z + 62, 16)
        name = f"belt{x:.0f}{z}"
        b.plate("anchor", "xz", s * at, [(L(name, "belt"), plate)])
        b.plate("anchor", "xz", s * (at - 3), [(L(name + "nut", None, "well"), disc(x, z, 15))])
    for x, y in ((330, 300), (1990, 560)):
        z = (CAB_FLOOR if x < BULK else FLOOR) + 4
        b.plate("anchor", "xy", z, [(L(f"beltfloor{x}", "belt"), side.flat(x - 55, y - 55, x + 55, y + 55, 14))])
        b.plate("anchor", "xy", z + 3, [(L(f"beltnut{x}", None, "well"), disc(x, s * y, 15))])


def cab_middle(b: Body) -> None:
    """Toe board, fresh-air box, inner windshield lip, dash, fittings, and the edge where the section cuts."""
    C = centre(CODE)
    channel = block(-640, -74, BULK, 74)
    b.plate("floor", "xy", CAB_FLOOR + 14, [(C("channel"), channel)])
    b.plate("floorunder", "xy", CAB_FLOOR - 6, [(C("channelunder"), channel)])
    q = np.linspace(-640, 640, 50)
    u = NOSE_U + np.abs(q)
    for name, zone, z, near, far in (("lip", "screen.in", 1112, 16, 190), ("airbox", "scuttle", 1000, 22, 150)):
        x = skin(u, z + 0 * u)[0]
        plan = shape(*zip(x + near, q, strict=True), *zip(x[::-1] + far, q[::-1], strict=True))
        b.prism(name, "xy", plan, z, z + (4 if name == "lip" else 92), C(name, zone))
    x = float(skin(NOSE_U, 1112)[0])
    b.plate(
        "dash",
        "yz",
        x + 300,
        [
            (C("dashface"), block(-690, 880, 690, 1060, 40)),
            (C("dashface/tray"), block(-600, 910, -180, 1020, 20)),
            (C("gauge", None, "glass"), disc(380, 975, 66)),
            (C("gauge2", None, "glass"), disc(220, 975, 46)),
        ],
    )
    b.prism("dash", "xy", block(x + 268, -690, x + 300, 690, 10), 1030, 1060, C("dashrim"))
    for side in sides(CODE):
        panel = block(NOSE_U, 600, NOSE_U + 740, 1000)
        skin_sheet(b, "toe", side, [(C("toepanel"), panel)], (NOSE_U, 600, NOSE_U + 740, 1000), lift=-24)
    steering(b, -524, 380, 960, r=215, foot=(-830, 600))
    pedals(b, -770, 640, (470, 330))
    lever(b, -420, CAB_FLOOR + 20)
    seat_feet(b, [(p, q) for p in (40, 320) for q in (-440, -200, 200, 440)], CAB_FLOOR)
    nose = float(skin(NOSE_U, CAB_FLOOR)[0]) + 14
    line = [(nose, CAB_FLOOR), (BULK, CAB_FLOOR), (BULK, FLOOR), (WALL, FLOOR), (WALL, DECK), (TAIL - 130, DECK)]
    edge = LineString(line).buffer(8, cap_style="flat", join_style="mitre")
    for s in (1, -1):
        b.prism("cut", "xz", edge, s * 3, s * 8, Label("cut", None, "part"))
