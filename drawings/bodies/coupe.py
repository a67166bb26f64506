"""An invented two-door coupe on a unit body: front axle at x = 0, ground at z = 0, millimetres."""

from __future__ import annotations

import numpy as np
from engine.shapes import Shape, bar, block, disc, shape
from engine.sides import Side, centre, sides
from engine.solid import Body

from bodies.coupe_bay import engine_bay, front_middle, radiator_support
from bodies.coupe_floor import fittings, floor_middle, floor_side, trunk_middle, trunk_side
from bodies.coupe_glass import glasshouse_middle, glasshouse_side
from bodies.coupe_shape import (
    ALL,
    AXLE,
    CODE,
    COWL,
    DOOR,
    FRONT_ARCH,
    HOOD,
    HOOD_U,
    LID,
    LID_U,
    LINE,
    LOCK,
    NOSE_U,
    RADIUS,
    REAR_ARCH,
    SILL,
    STEP,
    TAIL,
    TAIL_U,
    brow,
    crown,
    skin_sheet,
    wind_x,
)
from bodies.coupe_under import running_middle, running_side, structure_side

SWAGE = block(-9999, 640, 9999, 652)
LID_FRONT, LID_LOW, LOW = 2960, 596, 316


def edge_of(side: Side, x0: float, x1: float) -> list[tuple[float, float]]:
    """The brow in plan between x0 and x1, y on its side."""
    x, y, _ = brow(np.linspace(x0, x1, 160))
    return [(float(a), side.s * float(q)) for a, q in zip(x, y, strict=True)]


def top_of(side: Side, x0: float, x1: float) -> Shape:
    """The half of the top inside the brow between u = x0 and u = x1."""
    line = edge_of(side, x0, x1)
    return shape(*line, (line[-1][0], 0), (line[0][0], 0))


def front_side(b: Body, side: Side) -> None:
    """Fender and nose half on the skin, fender top and hood half above it."""
    C, L = centre(CODE), side.label
    n = NOSE_U
    u = np.linspace(n - 1, DOOR, 300)
    start = brow(u)[2]
    fender = (block(n - 1, 318, 0, ALL) | block(0, SILL, DOOR, ALL)) - FRONT_ARCH
    lip = shape(*zip(u, start + 8, strict=True), (DOOR, 1600), (n - 1, 1600)) & block(n - 9, 0, HOOD_U, ALL)
    lamp, park = disc(n + 546, 642, 92), disc(n + 394, 642, 38)
    mouth = block(n - 800, 566, n + 440, 718, 70) & block(n - 1, 0, ALL, ALL)
    bars = [(C("bars", None, "part"), block(n - 800, z, n + 440, z + 13) & mouth.buffer(-8)) for z in (596, 635, 674)]
    low = fender & block(400, 0, ALL, 420) & shape((400, 0), (ALL, 0), (ALL, 430), (452, 430), (400, 340))
    top = fender & shape(*zip(u, start - 34, strict=True), (DOOR, 1600), (n - 1, 1600)) - lip
    bowl = disc(n + 546, 642, 127)
    skin_sheet(
        b,
        "fender",
        side,
        [
            (C("fender"), fender - lip),
            (C("fender/swage"), (fender & SWAGE & block(n + 740, 0, ALL, ALL)) - block(-170, 0, 170, ALL)),
            (C("fender/valance"), fender & block(n - 1, 318, -420, 372)),
            (L("fender/bowl", "fender.top"), bowl),
            (L("fender", "fender.top"), top & block(HOOD_U, 0, ALL, ALL)),
            (L("fender", "fender.low"), low),
            (C("mouth", None, "well"), mouth - bowl.buffer(10)),
            *((label, stripe - bowl.buffer(10)) for label, stripe in bars),
            (L("bezel", None, "part"), lamp.buffer(12)),
            (L("lamp", None, "glass"), lamp),
            (L("lamp/ring", None, "glass"), lamp - lamp.buffer(-12)),
            (L("parkrim", None, "part"), park.buffer(9)),
            (L("parklens", None, "glass"), park),
            (L("repeater", None, "glass"), block(-560, 588, -510, 612, 10)),
        ],
        (n, SILL, DOOR, 990),
        10,
    )
    skin_sheet(b, "hood", side, [(C("hood", "hood"), lip)], (n, 700, HOOD_U, 990), 8)
    plane = top_of(side, n, DOOR)
    rear = shape(*[(COWL + 26 * (q / HOOD) ** 2, q) for q in np.linspace(-800, 800, 60)], (-ALL, 800), (-ALL, -800))
    hood = plane & rear & block(-ALL, -HOOD, ALL, HOOD)
    rib = shape((-640, 0), (470, 0), (470, side.s * 150), (420, side.s * 175), (-560, side.s * 120), (-640, side.s * 96))
    b.plate("fender", "xy", crown, [(L("fender", "fender.top"), plane - block(-ALL, -HOOD, ALL, HOOD))], step=12, blend=True)
    b.plate("hood", "xy", crown, [(C("hood", "hood"), hood), (C("hood/rib", "hood"), rib)], step=12, blend=True)
    cowl = (plane & block(-ALL, -HOOD, ALL, HOOD)) | (top_of(side, DOOR, 900) & block(-ALL, -700, ALL, 700))
    glass = shape(*[(float(wind_x(q, 890)) + 12, q) for q in np.linspace(-700, 700, 60)], (-ALL, 900), (-ALL, -900))
    vents = [side.flat(612, q, 648, q + 128, 10) for q in (44, 208, 372)]
    b.plate(
        "cowl",
        "xy",
        crown,
        [
            (C("cowl", "cowl.wiper"), (cowl - rear) & glass & block(-ALL, 0, ALL, side.s * ALL)),
            *((C("cowl/grille", "cowl.plenum"), vent.buffer(5)) for vent in vents),
            *((C(f"vent{k}", None, "well"), vent.buffer(-4)) for k, vent in enumerate(vents)),
        ],
        step=12,
        blend=True,
    )


def door(b: Body, side: Side) -> None:
    """Door skin below the belt, sill, and the ledge beside the glass."""
    L = side.label
    panel = block(DOOR, STEP, LOCK, ALL)
    corner = block(DOOR, 0, DOOR + 40, STEP + 40) - disc(DOOR + 40, STEP + 40, 40)
    heel = block(LOCK - 40, 0, LOCK, STEP + 40) - disc(LOCK - 40, STEP + 40, 40)
    panel = panel - corner - heel
    skin_sheet(
        b,
        "door",
        side,
        [
            (L("fender", "fender.low"), corner),
            (L("quarter", "bpost"), heel),
            (L("door"), panel),
            (L("door/swage"), panel & SWAGE),
            (L("door", "door.low"), panel & block(0, 0, ALL, 466)),
            (L("handle", None, "part"), block(1610, 742, 1742, 766, 11)),
            (L("lock", None, "part"), disc(1668, 704, 11)),
        ],
        (DOOR, STEP, LOCK, 990),
        14,
    )
    b.plate("door", "xy", crown, [(L("door"), top_of(side, DOOR, LOCK) - block(-ALL, -700, ALL, 700))], step=14, blend=True)
    rocker = block(DOOR, SILL, LOCK + 420, STEP) - REAR_ARCH
    skin_sheet(
        b,
        "sillskin",
        side,
        [
            (L("sill", "sill.outer"), rocker),
            (L("sill/strip", "sill.outer"), rocker & block(0, 282, ALL, 294)),
        ],
        (DOOR, SILL, 2240, STEP),
        14,
    )


def quarter(b: Body, side: Side) -> None:
    """Rear quarter with arch lip and post foot, round to the tail panel; deck edge and lid above."""
    C, L = centre(CODE), side.label
    t = TAIL_U
    u = np.linspace(LOCK, t + 1, 300)
    start = brow(u)[2]
    body = block(LOCK, STEP, AXLE, ALL) | shape((AXLE, LOW), (t + 1, LOW), (t + 1, ALL), (AXLE, ALL))
    body = body - REAR_ARCH
    lip = (REAR_ARCH.buffer(46) - REAR_ARCH) & block(0, LOW, ALL, ALL)
    shut = shape(*zip(u, start + 8, strict=True), (t + 90, float(start[-1]) + 8), (t + 90, 1600), (LOCK, 1600)) & block(
        LID_U, 0, t + 80, ALL
    )
    face = block(LID_U, LID_LOW, t + 900, ALL, 40) & block(LID_U, 0, t + 80, ALL)
    lid = shut | face
    lamp = block(t - 716, 640, t - 604, 774, 40)
    skin_sheet(
        b,
        "quarter",
        side,
        [
            (L("quarter"), body),
            (L("quarter/swage"), (body & SWAGE & block(0, 0, t - 760, ALL)) - block(AXLE - 250, 0, AXLE + 250, ALL)),
            (L("quarter", "bpost"), body & shape((LOCK, 0), (2010, 0), (1960, 560), (LOCK, 560))),
            (L("quarter", "quarter.low"), body & shape((2700, 0), (3330, 0), (3330, 560), (2700, 560)) - REAR_ARCH.buffer(46)),
            (L("quarter", "arch.outer"), lip & body.buffer(1)),
            (C("tailface", "tailpanel"), body & block(t - 730, 452, t + 1, 800) - lid),
            (C("tailface/valance"), body & block(t - 730, 0, t + 1, 452)),
            (L("lampseal", None, "part"), lamp.buffer(10)),
            (L("lamp", None, "glass"), lamp),
            (L("lamp/low", None, "glass"), lamp & block(0, 0, ALL, 690)),
            (None, lid),
        ],
        (LOCK, SILL, t, 990),
        10,
    )
    skin_sheet(
        b,
        "lid",
        side,
        [
            (C("lid"), lid),
            (C("lid", "trunklid"), lid & block(LID_U, 0, ALL, LID_LOW + 112)),
            (C("badge", None, "part"), disc(t, 720, 26)),
        ],
        (LID_U, LID_LOW - 4, t, 990),
        8,
    )
    plane = top_of(side, LOCK, t)
    front = shape(*[(LID_FRONT - 24 * (q / LID) ** 2, q) for q in np.linspace(-LID, LID, 40)], (ALL, LID), (ALL, -LID))
    ledge = plane - block(-ALL, -640, 2700, 640) - block(2600, 4 - LID, ALL, LID - 4)
    b.plate("ledge", "xy", lambda x, y: crown(x, y) - 0.4, [(L("quarter"), ledge)], step=14, blend=True)
    deck = plane & block(2690, -LID, ALL, LID) - front
    b.plate("deckpanel", "xy", lambda x, y: crown(x, y) + 1, [(C("deck", "shelf"), deck)], step=14, blend=True)
    b.plate("lid", "xy", crown, [(C("lid"), plane & front)], step=12, blend=True)


def trim(b: Body) -> None:
    """Bumpers, their irons, number plates."""
    C = centre(CODE)
    for front in (True, False):
        u = np.linspace(LINE.nose, -420, 60) if front else np.linspace(3330, LINE.tail, 60)
        x, y, nx, ny = LINE.along(u)
        half = np.c_[x + nx * 44, y + ny * 22, 0 * x + (452 if front else 468)]
        other = half[::-1] * [1, -1, 1]
        whole = np.vstack([half[::-1], other[::-1][1:]]) if front else np.vstack([half, other[1:]])
        end = "front" if front else "rear"
        b.sweep("bumper", whole, bar(30, 92, 13), C(f"bumper{end}", None, "soft"))
        for s in (1, -1):
            x0 = -770 if front else TAIL + 36
            b.prism("bumper", "yz", block(s * 300, 398, s * 344, 506, 12), x0 - 34, x0 + 20, C(f"guard{end}{s}", None, "part"))
    b.prism("plate", "yz", block(-180, 360, 180, 420, 8), -812, -806, C("platefront", None, "glass"))
    b.prism("plate", "yz", block(-180, 500, 180, 580, 8), TAIL + 2, TAIL + 8, C("platerear", None, "glass"))


def wells(b: Body, side: Side) -> None:
    """The dark of the wheel arches, down to the edges of the sheet metal round them."""
    front = disc(0, RADIUS, 380) & (block(-ALL, 318, 0, ALL) | block(0, SILL, ALL, ALL))
    rear = disc(AXLE, RADIUS, 385) & (block(0, SILL, AXLE, ALL) | block(AXLE, LOW, ALL, ALL))
    b.plate("well", "xz", side.s * 628, [(side.label("well", None, "well"), q) for q in (front, rear)])
    roof = shape(*edge_of(side, -606, COWL), *side.points((COWL, 700), (-606, 700)))
    b.plate("wellroof", "xy", lambda x, y: crown(x, y) - 56, [(side.label("wellroof", None, "well"), roof)], step=30)


def build(battery_side: str = "l") -> Body:
    """The whole vehicle; battery_side "l" or "r"."""
    b = Body()
    for side in sides(CODE):
        for draw in (front_side, door, quarter, glasshouse_side, wells, structure_side, running_side, floor_side, trunk_side):
            draw(b, side)
        engine_bay(b, side, battery_side)
    for draw_middle in (
        trim,
        glasshouse_middle,
        front_middle,
        radiator_support,
        running_middle,
        floor_middle,
        trunk_middle,
        fittings,
    ):
        draw_middle(b)
    return b
