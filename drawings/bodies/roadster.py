"""An invented two-seat roadster on its own chassis: front axle at x = 0, ground at z = 0, millimetres."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import Shape, block, curve, disc, rounded, shape, steps
from engine.sides import Side, centre, sides
from engine.solid import Body

from bodies.roadster_glass import windshield
from bodies.roadster_inner import cut_edges, deck_well, doors_inside, middle, sills, tub, wheel_house
from bodies.roadster_shape import (
    ALL,
    AXLE,
    COCKPIT,
    CODE,
    DECK,
    DOOR_END,
    FENDER_END,
    FRONT_ARCH,
    HOOD_END,
    LID,
    LINE,
    REAR_ARCH,
    SILL,
    STEP,
    TAIL,
    TYRE,
    bead_on_face,
    bead_on_top,
    beyond,
    brow,
    crown,
    side_y,
    skin_sheet,
    top_sheet,
)
from bodies.roadster_under import bumpers, chassis_middle, chassis_side

HOOD_SIDE = curve([-640, -480, 100, HOOD_END], [352, 372, 416, 430])
BEAD = 11.0
NOSE_SEAM, TAIL_SEAM = beyond(467), beyond(502, tail=True)
FRONT_SEAM = curve([float(brow(NOSE_SEAM)[0]), -480, -250, 0, 500, FENDER_END], [467, 467, 484, 510, 562, 596])
REAR_SEAM = curve([DOOR_END, 1640, 1900, 2500, 2900, float(brow(TAIL_SEAM)[0])], [622, 598, 566, 518, 502, 502])
LID_SIDE, LID_FOOT = beyond(424, tail=True), 500
WHOLE = (
    shape(
        (LINE.nose - 9, 268),
        (-640, 252),
        (-380, 214),
        (-200, SILL),
        (2300, SILL),
        (2560, 216),
        (2860, 250),
        (LINE.tail + 9, 268),
        (LINE.tail + 9, ALL),
        (LINE.nose - 9, ALL),
    )
    - FRONT_ARCH
    - REAR_ARCH
)


def strip(seam: Any, x0: float, x1: float, inner: float, outer: float) -> Shape:
    """The strip in plan from `inner` to `outer` beside a seam y(x)."""
    x = np.linspace(x0, x1, 120)
    return shape(*zip(x, seam(x) + inner, strict=True), *zip(x[::-1], seam(x[::-1]) + outer, strict=True))


COCKPIT_HOLE = rounded(block(COCKPIT, -588, DECK, 588), 90)


def front_fender(b: Body, side: Side) -> None:
    """Bolt-on front fender with its lamp, and the beading along its seam."""
    L = side.label
    fender = WHOLE & block(NOSE_SEAM - 7, 0, FENDER_END, ALL)
    high = shape((NOSE_SEAM, 470), (-640, 470), (-400, 610), (-280, 690), (80, 716), (420, 716), (420, ALL), (NOSE_SEAM, ALL))
    low = shape((300, 0), (FENDER_END, 0), (FENDER_END, 430), (520, 430), (300, 400))
    park = disc(-690, 440, 27)
    skin_sheet(
        b,
        "fender",
        side,
        [
            (L("fender"), fender),
            (L("fender", "wing.f.top"), fender & high),
            (L("fender", "wing.f.low"), fender & low),
            (L("park", None, "part"), park.buffer(9)),
            (L("parklens", None, "glass"), park),
        ],
        (NOSE_SEAM - 8, SILL, FENDER_END, 960),
    )
    top = strip(FRONT_SEAM, -700, FENDER_END, 0, 400)
    top_sheet(b, "fender", side, [(L("fender"), top), (L("fender", "wing.f.top"), top & block(-ALL, 0, 420, ALL))])
    bead_on_face(b, side, NOSE_SEAM, 255, BEAD, L("bead", "bead"))
    bead_on_top(b, side, FRONT_SEAM, float(brow(NOSE_SEAM)[0]), FENDER_END, BEAD, L("bead", "bead"))
    at = (-566.0, side.s * 584, 584.0)
    ring = [(84, 94), (-22, 94), (-36, 88), (-42, 80)]
    b.turn("lamp", at, ring, L("lamprim", None, "soft"), axis="x")
    b.turn("lamp", at, [(-42, 80), (-56, 54), (-62, 26), (-63, 0)], L("lampglass", None, "glass"), axis="x")


def nose_and_hood(b: Body, side: Side) -> None:
    """Nose panel with its mouth, front valance, hood, scuttle."""
    C, L, m = centre(CODE), side.label, LINE.nose
    nose = WHOLE & block(m - 9, 0, NOSE_SEAM - 7, ALL)
    mouth = rounded(shape((m - 400, 352), (m + 236, 352), (m + 306, 420), (m + 268, 508), (m - 400, 508)), 22)
    slats = [(C("slat", None, "well"), block(m + q, 300, m + q + 26, 600, 8) & mouth.buffer(-10)) for q in range(-13, 300, 52)]
    skin_sheet(
        b,
        "nose",
        side,
        [
            (C("nose"), nose),
            (C("valance", "val.f"), nose & block(m - 9, 0, ALL, 338)),
            (C("mouthrim", None, "part"), mouth.buffer(13)),
            (C("mouth", None, "soft"), mouth),
            *slats,
        ],
        (m, SILL, NOSE_SEAM, 760),
    )
    y = np.linspace(-900, 900, 90)
    front = shape(*zip(-522 + 90 * (y / 700) ** 2, y, strict=True), (900, 900), (900, -900))
    hood = rounded(strip(HOOD_SIDE, -640, HOOD_END, -900, 0) & front, 46)
    between = strip(FRONT_SEAM, -700, FENDER_END, -ALL, 0)
    top_sheet(b, "nose", side, [(C("nose"), between & block(-ALL, -1, HOOD_END - 1, ALL)), (None, hood)])
    bulge = rounded(shape((-470, -200), (-470, 96), (480, 190), (480, -200)), 40)
    top_sheet(b, "hood", side, [(C("hood", "bonnet"), hood)])
    top_sheet(b, "bulge", side, [(C("hood/bulge", "bonnet"), bulge)], lift=3)
    scuttle = (between & block(HOOD_END, -1, ALL, ALL)) | shape(
        (FENDER_END, -1), (COCKPIT + 100, -1), (COCKPIT + 100, 588), (FENDER_END, 588)
    )
    scuttle = scuttle - COCKPIT_HOLE
    foot = rounded(block(716, 500, 846, 720), 22)
    top_sheet(
        b,
        "scuttle",
        side,
        [
            (C("scuttle", "scuttle"), scuttle),
            (L("scuttle", "screenfoot"), scuttle & foot),
            (C("vent", "scuttle"), block(584, -200, 650, 150, 14)),
            *((C(f"ventslot{k}", None, "well"), block(598 + 18 * k, -130, 606 + 18 * k, 130)) for k in range(3)),
        ],
    )


def door(b: Body, side: Side) -> None:
    """Door skin with its top, sill outer skin below it."""
    L = side.label
    outline = shape((FENDER_END, STEP), (DOOR_END, STEP), (DOOR_END, ALL), (FENDER_END, ALL))
    skin_sheet(
        b,
        "door",
        side,
        [
            (L("door"), outline),
            (L("door", "door"), outline & block(0, 0, ALL, STEP + 120)),
            (L("handle", None, "part"), block(1322, 640, 1404, 662, 10)),
        ],
        (FENDER_END, STEP, DOOR_END, 900),
    )
    top_sheet(b, "door", side, [(L("door"), block(FENDER_END, 588, DOOR_END, ALL))], 10)
    skin_sheet(
        b,
        "outer",
        side,
        [(L("sill", "sill.out"), block(FENDER_END, SILL, DOOR_END, STEP))],
        (FENDER_END, SILL, DOOR_END, STEP),
    )


def rear_fender(b: Body, side: Side) -> None:
    """Bolt-on rear fender with its beading, tail lamp."""
    L = side.label
    fender = WHOLE & block(DOOR_END, 0, TAIL_SEAM + 7, ALL)
    low = block(0, 0, 2800, 420) | REAR_ARCH.buffer(56)
    skin_sheet(
        b,
        "rear",
        side,
        [(L("rear"), fender), (L("rear", "wing.r.low"), fender & low)],
        (DOOR_END, SILL, TAIL_SEAM + 8, 960),
    )
    top_sheet(b, "rear", side, [(L("rear"), strip(REAR_SEAM, DOOR_END, TAIL + 20, 0, 400))])
    bead_on_face(b, side, TAIL_SEAM, 257, BEAD, L("bead", "bead"))
    bead_on_top(b, side, REAR_SEAM, DOOR_END, float(brow(TAIL_SEAM)[0]), BEAD, L("bead", "bead"))
    for z, r in ((568, 50), (456, 34)):
        at = (TAIL - 46.0, side.s * 574, float(z))
        b.turn("lamp", at, [(-60, r), (30, r), (38, r - 8)], L(f"tailrim{z}", None, "part"), axis="x")
        b.turn("lamp", at, [(38, r - 8), (48, r * 0.5), (50, 0)], L(f"tail{z}", None, "glass"), axis="x")


def deck_and_lid(b: Body, side: Side) -> None:
    """Rear deck with the slot of the soft top well, trunk lid shut and raised, tail panel, rear valance."""
    C, t = centre(CODE), LINE.tail
    inside = strip(REAR_SEAM, DOOR_END, TAIL + 20, -ALL, 0)
    lid = rounded(block(LID, -900, 3800, 424), 54)
    slot = rounded(block(1672, -900, 1872, 486), 40)
    top_sheet(
        b,
        "deck",
        side,
        [
            (C("deck"), inside),
            (C("deck", "deck"), inside & block(0, -900, LID - 14, ALL)),
            (None, block(0, -900, DECK + 1, 588) & (COCKPIT_HOLE | block(0, -900, 1500, 588))),
            (None, slot),
            (None, lid),
        ],
    )
    top_sheet(b, "lid", side, [(C("lid"), lid), (C("lid", "lid"), lid & block(2850, -900, ALL, ALL))])
    tail = WHOLE & block(TAIL_SEAM + 7, 0, t + 9, ALL)
    face = rounded(block(LID_SIDE, LID_FOOT, t + 400, 1400), 44) & block(0, 0, t + 9, ALL)
    skin_sheet(
        b,
        "tail",
        side,
        [(C("deck"), tail), (C("valance.r", "val.r"), tail & block(0, 0, ALL, 384)), (None, face)],
        (TAIL_SEAM, SILL, t, 760),
    )
    skin_sheet(
        b,
        "lid",
        side,
        [(C("lid", "lid"), face), (C("handle", None, "part"), block(t - 60, 540, t + 60, 562, 9))],
        (LID_SIDE, LID_FOOT, t, 760),
    )


def raised_lid(b: Body) -> None:
    """The trunk lid standing open, its inner face to the rear."""
    C, outline = centre(CODE), rounded(block(-424, 0, 424, 1010), 54)

    def lean(U: Any, V: Any) -> tuple[Any, Any, Any]:
        return 1950 + 0.3 * V, U, 800 + 0.62 * V

    ribs = [(C(f"lidin/{k}"), block(q - 150, 90, q + 150, 830, 40)) for k, q in enumerate((-190, 190))]
    b.sheet(
        "openlid",
        lean,
        steps(-424, 424),
        steps(0, 1010),
        [(C("lidin"), outline), *ribs, (C("lidin", "lid"), outline & block(-ALL, 880, ALL, ALL))],
    )
    gutter = rounded(block(LID - 4, -428, 3022, 428), 54)
    b.plate("gutter", "xy", lambda U, V: crown(U, V) - 22, [(C("gutter", "lid"), gutter - gutter.buffer(-46))], step=16)


def wells(b: Body, side: Side) -> None:
    """The dark of the wheel arches, and of what lies above when seen from below."""
    C = centre(CODE)
    dark = (disc(0, TYRE, 372) & block(-ALL, SILL + 36, ALL, 690)) | (
        disc(AXLE, TYRE, 398) & (block(0, SILL + 1, AXLE, 690) | block(AXLE, SILL + 40, ALL, 690))
    )
    b.plate("well", "xz", side.s * 476, [(side.label("well", None, "well"), dark)])
    z = np.linspace(SILL + 6, 700, 30)
    for x in (592.0, 1772.0):  # closes the view along the flank through the arches
        splash = shape((side.s * 476, SILL + 6), *zip(side.s * (side_y(0 * z + x, z) - 3), z, strict=True), (side.s * 476, 700))
        b.plate("well", "yz", x, [(side.label("well", None, "well"), splash)])
    b.plate(
        "shade",
        "xy",
        lambda U, V: crown(U, V) - 60,
        [(C("shade", None, "well"), side.flat(-500, 0, 600, 452) | side.flat(1850, 0, 2960, 600))],
    )


def build(battery_side: str = "r") -> Body:
    """The whole vehicle; battery_side "l" or "r"."""
    b = Body()
    for side in sides(CODE):
        for draw in (front_fender, nose_and_hood, door, rear_fender, deck_and_lid, wells):
            draw(b, side)
        for draw_inner in (sills, tub, wheel_house, doors_inside, cut_edges, chassis_side):
            draw_inner(b, side)
    windshield(b)
    raised_lid(b)
    deck_well(b)
    middle(b, battery_side)
    chassis_middle(b)
    bumpers(b)
    return b
