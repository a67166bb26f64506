"""An invented forward-control van on a unit body, engine at the back: front axle at x = 0, ground at z = 0, millimetres."""

from __future__ import annotations

import numpy as np
from engine.shapes import Shape, bar, block, disc, shape
from engine.sides import Side, centre, sides
from engine.solid import Body, Label

from bodies.van_ends import lid_and_gate, nose_paint, roof_middle, roof_side, tail_paint, trim
from bodies.van_floor import bay, cab_middle, floor_middle, floor_side, inside
from bodies.van_shape import (
    ALL,
    AXLE,
    BELT,
    CODE,
    DOOR,
    DRIP,
    FRONT_ARCH,
    LOCK,
    NOSE_U,
    REAR_ARCH,
    SILL,
    SLIDE,
    SLIDE_END,
    STEP,
    TAIL_U,
    around,
    skin_sheet,
    zone,
)
from bodies.van_under import running_middle, running_side, structure_middle, structure_side

WINDOWS = (
    block(588, 1186, 1412, 1606, 70),
    block(1584, 1186, 2296, 1606, 70),
    shape((2436, 1186), (2960, 1186), (2860, 1606), (2436, 1606), r=66),
)
SWAGE = block(-9999, 884, 9999, 898)


def shell() -> Shape:
    """The outline of the skin in side view: sills between the arches, the overhangs trimmed higher."""
    n, t = NOSE_U, TAIL_U
    low = shape((-300, SILL), (AXLE, SILL), (AXLE, 330), (t + 1, 330), (t + 1, DRIP), (n - 1, DRIP), (n - 1, 300), (-300, 300))
    return low - FRONT_ARCH - REAR_ARCH


def cab_door() -> Shape:
    """The cab door, its lower rear corner cut by the arch; its front edge leans with the skin."""
    door = shape((DOOR, STEP), (LOCK, STEP), (LOCK, 1704), (-520, 1704), (DOOR, 1560))
    return (door - FRONT_ARCH.buffer(62)).buffer(-34, quad_segs=12).buffer(34, quad_segs=12)


def window_paint(side: Side, panel: str, pane: Shape, name: str) -> list[tuple[Label | None, Shape]]:
    """A fixed side window: surround, gasket, glass."""
    L = side.label
    return [
        (Label(f"{panel}/{name}", f"{CODE}.window.{side.letter}"), pane.buffer(56)),
        (L(f"seal{name}", None, "well"), pane.buffer(15)),
        (L(f"glass{name}", None, "glass"), pane),
    ]


def flank(b: Body, side: Side, slide: bool) -> None:
    """The skin of one side from nose to tail, with the holes of the doors."""
    C, n, t = centre(CODE), NOSE_U, TAIL_U
    body, door, opening = shell(), cab_door(), block(SLIDE, STEP, SLIDE_END, 1690, 36)
    low = block(LOCK + 140, STEP, AXLE, STEP + 150) & body
    lips = [(arch.buffer(50) - arch) & block(-ALL, h, ALL, ALL) for arch, h in ((FRONT_ARCH, 300), (REAR_ARCH, SILL))]
    lips[1] = lips[1] & (block(0, 0, AXLE, ALL) | block(AXLE, 330, ALL, ALL))
    seam = block(LOCK + 140, BELT - 16, 2990, BELT + 12)  # up to the surrounds of the windows
    posts = block(LOCK + 140, STEP + 150, LOCK + 166, BELT) | block(SLIDE_END + 10, STEP + 150, SLIDE_END + 36, BELT)
    swage = SWAGE & block(-540, 0, 3000, ALL)
    paint: list[tuple[Label | None, Shape]] = [
        (C("body"), body),
        (C("body/swage"), swage),
        *nose_paint(side, body),
        *tail_paint(side, body),
        (zone(side, "body", "apost"), block(DOOR - 108, 300, DOOR + 20, 780) & body),
        (zone(side, "body", "step"), block(DOOR, 290, -300, STEP + 30) & body),
        (zone(side, "body", "bpost"), block(LOCK - 60, STEP, LOCK + 140, 800) & body),
        (zone(side, "body", "sill.out"), block(300, SILL, AXLE, STEP) & body),
        (zone(side, "body", "side.low"), low),
        (zone(side, "body", "seam"), seam | posts),
        *((zone(side, f"body/lip{k}", f"arch.{q}.out"), lip & body) for k, (q, lip) in enumerate(zip("fr", lips, strict=True))),
        *(p for k, pane in enumerate(WINDOWS) if k or not slide for p in window_paint(side, "body", pane, f"w{k}")),
    ]
    if slide:
        paint += [
            (C("stepedge", "slide.step"), block(SLIDE - 6, STEP - 74, SLIDE_END + 6, STEP)),
            (None, opening),
        ]
    skin_sheet(b, "skin", side, [*paint, (None, door)], (n, SILL, t, DRIP))
    low_edge = body & block(-ALL, 0, ALL, 430)
    hem: list[tuple[Label | None, Shape]] = [
        (C("body"), low_edge),
        (C("body", "nose.low"), low_edge & block(n - 1, 0, n + 800, ALL)),
    ]
    hem.append((C("body", "valance.r"), low_edge & block(t - 600, 0, t + 1, ALL)))
    skin_sheet(b, "hem", side, hem, (n, SILL, t, 440), lift=-1)
    _cab_door(b, side, door)
    if slide:
        _slide_door(b, side, opening)


def _cab_door(b: Body, side: Side, door: Shape) -> None:
    L = side.label
    pane = shape((-520, 1176), (278, 1176), (278, 1622), (-448, 1622), (-520, 1500), r=54)
    fixed, drop = pane & block(-ALL, 0, -262, ALL), pane & block(-240, 0, ALL, ALL)
    skin_sheet(
        b,
        "cabdoor",
        side,
        [
            (L("door"), door),
            (L("door/swage"), door & SWAGE),
            (L("door", "cabdoor"), door & block(-ALL, 0, -200, STEP + 160)),
            (L("doorseal", None, "well"), pane.buffer(14)),
            (L("doorglass", None, "glass"), fixed),
            (L("doorglass", None, "glass"), drop),
            (L("handle", None, "part"), block(150, 1016, 282, 1042, 12)),
            (L("lock", None, "part"), disc(216, 978, 11)),
        ],
        (DOOR, STEP, LOCK, 1710),
    )


def _slide_door(b: Body, side: Side, door: Shape) -> None:
    """The sliding door in its opening, the middle track behind it."""
    C, L = centre(CODE), side.label
    skin_sheet(
        b,
        "slide",
        side,
        [
            (C("slide"), door),
            (C("slide/swage"), door & SWAGE),
            (C("slide", "slide.low"), door & block(0, 0, ALL, STEP + 150)),
            *window_paint(side, "slide", WINDOWS[0], "w0"),
            (L("slidehandle", None, "part"), block(540, 1016, 566, 1090, 10)),
        ],
        (SLIDE, STEP, SLIDE_END, 1692),
        lift=1,
    )
    track = block(SLIDE_END + 44, 974, 2640, 1034, 12)
    skin_sheet(
        b,
        "track",
        side,
        [(C("track", "slide.track"), track), (C("track/slot", "slide.track"), block(SLIDE_END + 60, 996, 2610, 1012, 7))],
        (SLIDE_END, 970, 2650, 1038),
        lift=9,
    )


def wells(b: Body, side: Side) -> None:
    """The dark of the wheel arches, down to the edges of the sheet metal round them."""
    front = FRONT_ARCH.buffer(12) & (block(-ALL, 300, 0, ALL) | block(0, SILL, ALL, ALL))
    rear = REAR_ARCH.buffer(12) & (block(0, SILL, AXLE, ALL) | block(AXLE, 330, ALL, ALL))
    b.plate("well", "xz", side.s * 560, [(side.label("well", None, "well"), q) for q in (front, rear)])


def gutter(b: Body, side: Side) -> None:
    """The roof gutter of one side, round the corner into the windshield head and the tail."""
    path = around(DRIP - 6, NOSE_U + 800, TAIL_U - 700, 4, 300)
    fade = np.minimum(np.arange(300), np.arange(300)[::-1]) / 12
    path[:, 1] -= 14 * np.clip(1 - fade, 0, 1)
    b.sweep("gutter", path * [1, side.s, 1], bar(26, 32, 9), side.label("gutter", "gutter"))


def build(battery_side: str = "r", slide_side: str = "r") -> Body:
    """The whole vehicle; battery_side, slide_side: "l" or "r"."""
    b = Body()
    for side in sides(CODE):
        slide = slide_side == side.letter
        flank(b, side, slide)
        for draw in (roof_side, gutter, wells, structure_side, running_side, inside):
            draw(b, side)
        floor_side(b, side, slide)
        bay(b, side, battery_side == side.letter)
    for draw_middle in (lid_and_gate, roof_middle, trim, structure_middle, running_middle, floor_middle, cab_middle):
        draw_middle(b)
    return b
