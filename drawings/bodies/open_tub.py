"""An invented open field car, a steel tub on a ladder frame: front axle at x = 0, ground at z = 0, millimetres."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import bar, block, disc, rounded, shape, soft, steps
from engine.sides import Side, centre, sides
from engine.solid import Body
from parts.hoop import hoop

from bodies.open_tub_floor import floor_middle, floor_side, inner_side, seats_and_wheel
from bodies.open_tub_nose import engine_bay, fender, front_bumper, hood_half_side, nose, radiator_support, wells
from bodies.open_tub_shape import (
    ALL,
    AXLE,
    CARGO,
    CODE,
    COWL,
    COWL_ROLL,
    DASH,
    DOOR_BACK,
    DOOR_TOP,
    GATE,
    MIDDLE,
    RAIL,
    REAR_ARCH,
    SILL,
    SWAGE,
    TAIL,
    WALL,
    half_width,
    tail_u,
    tub_sheet,
    tub_top,
)
from bodies.open_tub_under import frame_middle, frame_side

DOOR = shape((DASH + 3, 592), (1180, 592), (DOOR_BACK, 730), (DOOR_BACK, 1200), (DASH + 3, 1200), r=46) & block(
    0, 0, ALL, DOOR_TOP
)


def tub_side(b: Body, side: Side) -> None:
    """The skin of one side from the cowl to the middle of the tail, with its door."""
    L, C = side.label, centre(CODE)
    x = np.linspace(DOOR_BACK, DOOR_BACK + 120, 30)
    outline = shape(
        (WALL, SILL),
        (1740, SILL),
        (2700, 560),
        (MIDDLE + 1, 560),
        (MIDDLE + 1, RAIL),
        *zip(x[::-1], tub_top(x[::-1]), strict=True),
        (DASH, DOOR_TOP),
        (DASH, COWL - COWL_ROLL),
        (WALL, COWL - COWL_ROLL),
    )
    outline = (outline | block(1600, SILL, 1760, 700)) - REAR_ARCH
    low = outline & block(AXLE + 380, 0, tail_u(GATE), 700)
    corner = outline & block(TAIL - 150, 700, tail_u(GATE), ALL)
    lamp = disc(tail_u(652), 872, 44)
    tub_sheet(
        b,
        "tub",
        side,
        [
            (L("tub"), outline),
            (L("tub/swage"), outline & SWAGE & block(DOOR_BACK + 40, 0, MIDDLE, ALL)),
            (L("tub", "cowl.side"), outline & block(WALL, 792, 590, 1020)),
            (L("tub", "apost"), outline & block(WALL, SILL + 92, DASH, 792)),
            (L("tub", "rocker.outer"), outline & block(WALL, SILL, 1430, SILL + 92)),
            (L("tub", "quarter.low"), low),
            (L("tub", "quarter.corner"), corner),
            (L("lamprim", None, "part"), lamp.buffer(12)),
            (L("taillamp", None, "glass"), lamp),
            (L("reflector", None, "glass"), disc(tail_u(652), 770, 24)),
            (None, block(tail_u(GATE), 0, MIDDLE + 10, ALL)),
            (None, DOOR),
        ],
        (WALL, SILL, tail_u(GATE) + 2, COWL - COWL_ROLL),
        12,
    )
    tub_sheet(
        b,
        "door",
        side,
        [
            (L("door"), DOOR),
            (L("door/swage"), rounded(shape((740, 760), (1262, 760), (1262, 930), (740, 930)), 40)),
            (L("door", "door.low"), DOOR & block(0, 0, ALL, 706)),
            (L("hinge", None, "part"), block(DASH + 6, 940, DASH + 60, 972, 8) | block(DASH + 6, 730, DASH + 60, 762, 8)),
            (L("handle", None, "part"), block(1214, 958, 1316, 982, 11)),
        ],
        (DASH, 590, DOOR_BACK, DOOR_TOP),
        14,
    )
    t = np.linspace(0, np.pi / 2, 13)
    r = COWL_ROLL
    b.sheet(
        "cowl",
        lambda U, V: (
            U,
            side.s * (half_width(COWL - r) - r + r * np.cos(t[V.astype(int)])),
            COWL - r + r * np.sin(t[V.astype(int)]),
        ),
        [WALL, DASH],
        np.arange(13),
        C("cowl", "cowl.top"),
        blend=True,
    )
    b.prism("hinge", "xy", side.flat(566, 388, 662, 496, 14), COWL, COWL + 16, L("hingepad", "cowl.hinge"))
    b.prism(
        "hinge",
        "xz",
        shape((586, 1120), (652, 1120), (668, 1188), (640, 1188), r=8),
        side.s * 428,
        side.s * 456,
        L("hingearm", "cowl.hinge"),
    )


def cowl_and_rims(b: Body) -> None:
    """Cowl top with its vent, the bulkhead below it, the rim of the tub."""
    C, w = centre(CODE), float(half_width(COWL - COWL_ROLL)) - COWL_ROLL
    slots = [(C("vent/slot", None, "well"), block(514, y - 62, 534, y + 62, 9)) for y in (-320, -160, 0, 160, 320)]
    b.plate("cowl", "xy", COWL, [(C("cowl", "cowl.top"), block(WALL, -w, DASH, w)), *slots], blend=True)
    plan = rounded(block(DOOR_BACK - 300, -736, TAIL - 2, 736), 68) & block(DOOR_BACK + 2, -ALL, ALL, ALL)
    rim = plan - block(DOOR_BACK - 300, -696, TAIL - 44, 696, 26) - block(TAIL - 60, -GATE, ALL, GATE)
    for part in rim.geoms:
        letter = "l" if part.centroid.y > 0 else "r"
        b.plate("rim", "xy", lambda U, V: tub_top(U), [(C(f"rim{letter}"), part)], step=12)


def windshield(b: Body) -> None:
    """A flat frame that folds on its hinges: outer face, inner face, edge, two panes, wipers."""
    C, foot, rake, thick = centre(CODE), 628, 0.15, 34
    frame = shape((-668, -6), (668, -6), (652, 566), (-652, 566), r=46)
    hole = shape((-602, 104), (602, 104), (590, 500), (-590, 500), r=34)
    left, right = hole & block(22, 0, ALL, ALL), hole & block(-ALL, 0, -22, ALL)
    panes = left.buffer(-30).buffer(30) | right.buffer(-30).buffer(30)

    def at(dx: float) -> Any:
        return lambda U, V: (foot + dx + rake * V, U, COWL + V)

    u, v = steps(-670, 670, 60), steps(0, 570, 60)
    b.sheet(
        "shield",
        at(0),
        u,
        v,
        [
            (C("wsframe"), frame),
            (C("wsframe", "wsframe.lower"), frame & block(-ALL, 0, ALL, 104)),
            (C("wsframe", "wsframe.header"), frame & block(-ALL, 500, ALL, ALL)),
            (C("gasket", None, "well"), panes.buffer(8)),
            (None, panes),
        ],
    )
    b.sheet(
        "shield",
        at(thick),
        u,
        v,
        [(C("wsinner", "wsframe.inside"), frame), (C("gasketin", None, "well"), panes.buffer(8)), (None, panes)],
    )
    for dx in (3, thick - 3):
        b.sheet("shield", at(dx), u, v, [(C("pane", None, "glass"), panes.buffer(6))])
    ring = np.asarray(frame.exterior.segmentize(30).coords)

    def edge(U: Any, V: Any) -> tuple[Any, Any, Any]:
        q = ring[U.astype(int)]
        return foot + V + rake * q[..., 1], q[..., 0], COWL + q[..., 1]

    n = np.arange(len(ring))
    top = ring[:, 1] > 520
    first, last = int(n[top].min()), int(n[top].max())
    whole = block(-1, -1, len(ring), thick + 1)
    b.sheet(
        "shield",
        edge,
        n,
        [0, thick],
        [(C("wsedge"), whole), (C("wsedge", "wsframe.header"), block(first, -1, last, thick + 1))],
        per_mm=4,
    )
    for s in (1, -1):
        path = [(foot - 14 + rake * h, s * y, COWL + h) for y, h in ((330, 90), (280, 130), (150, 300))]
        b.sweep("wiper", soft(np.array(path, float), 1), bar(11, 9, 4), C(f"wiper{s}", None, "part"), upright=False)
        b.turn(
            "wiper",
            (foot - 14 + rake * 88, s * 332, COWL + 88),
            [(0, 0), (0, 20), (16, 20)],
            C(f"spindle{s}", None, "part"),
            n=40,
            axis="x",
        )


def tail(b: Body) -> None:
    """Tailgate shut and let down."""
    C = centre(CODE)
    gate = block(-GATE + 2, CARGO - 4, GATE - 2, RAIL - 4, 12)
    b.prism("tailgate", "yz", gate, TAIL - 40, TAIL - 8, C("gate"))
    face = [
        (C("gate"), gate),
        (C("gate/press"), block(-470, 838, 470, 1010, 40)),
        (C("gate", "tailgate"), gate & block(-ALL, 0, ALL, 796)),
        *((C(f"gatehinge{y}", "tailgate"), block(y - 56, CARGO + 6, y + 56, CARGO + 46, 10)) for y in (-400, 400)),
        *((C(f"gatelatch{y}", None, "part"), block(y - 34, 1000, y + 34, 1034, 10)) for y in (-525, 525)),
    ]
    b.plate("tailgate", "yz", TAIL - 4, face)
    flat = block(TAIL - 30, -GATE + 5, TAIL + 330, GATE - 5, 14)
    b.plate(
        "gatedown",
        "xy",
        CARGO - 8,
        [
            (C("gate"), flat),
            (C("gate/inpress"), block(TAIL + 120, -470, TAIL + 290, 470, 40)),
            (C("gate", "tailgate"), flat & block(0, -ALL, TAIL + 66, ALL)),
        ],
    )


def roll_bar(b: Body) -> None:
    """Roll bar on the wheel houses."""
    hoop(b, "rollbar", 1960, 606, 890, 1580, centre(CODE)("rollbar", None, "part"))


def build(battery_side: str = "r") -> Body:
    """The whole vehicle; battery_side "l" or "r"."""
    b = Body()
    for side in sides(CODE):
        for draw in (hood_half_side, fender, wells, tub_side, floor_side, inner_side):
            draw(b, side)
        frame_side(b, side, battery_side)
        engine_bay(b, side, battery_side)
    for draw_middle in (
        nose,
        radiator_support,
        front_bumper,
        cowl_and_rims,
        windshield,
        tail,
        roll_bar,
        floor_middle,
        seats_and_wheel,
        frame_middle,
    ):
        draw_middle(b)
    return b
