"""The roadster's chassis: box rails, outriggers, cruciform, suspension; running gear and bumpers."""

from __future__ import annotations

import numpy as np
from engine.shapes import bar, block, curve, rounded, shape, soft
from engine.sides import Side, centre
from engine.solid import Body, Label
from parts.axles import drive_shaft, live_axle
from parts.boxes import BoxRails
from parts.engine import gearbox, hoses, inline_engine, radiator
from parts.springs import leaf_spring
from parts.wheels import wheel
from shapely.geometry import LineString

from bodies.roadster_shape import AXLE, CODE, LINE, NOSE, TAIL, TYRE, skin

rails = BoxRails(
    -530,
    2950,
    y=curve([-530, 100, 640, 1500, 1960, 2950], [322, 322, 392, 392, 322, 322]),
    z=curve([-530, -180, 300, 1640, 2010, 2500, 2950], [296, 250, 224, 224, 418, 420, 420]),
    height=curve([-530, 0, 300, 1640, 2010, 2950], [70, 80, 76, 76, 74, 66]),
)
KICK, EXTENSION = 1690, 2420


def chassis_side(b: Body, side: Side) -> None:
    """One rail with outriggers, half of the cross pieces, spring mounts, front suspension."""
    L, C, flat = side.label, centre(CODE), side.flat
    rails.draw(
        b,
        side,
        [
            (-530, 330, L("rail", "ch.front")),
            (330, KICK, L("rail", "ch.main_f")),
            (KICK, EXTENSION, Label(f"rail.{side.letter}", "sr.ch.kick")),
            (EXTENSION, 2950, Label(f"rail.{side.letter}", "sr.ch.rear")),
        ],
    )
    rails.inside(b, side, -520, 1680, L("boxinside", "ch.inside"))
    for name, x, reach in (("out_f", 838, 640), ("out_r", 1190, 640), ("out_r", 1450, 640)):
        y = 392 + rails.wide / 2
        outline = shape(
            *side.points((x - 84, y), (x - 84, y - 30), (x + 84, y - 30), (x + 84, y), (x + 44, reach), (x - 44, reach))
        )
        b.prism("frame", "xy", rounded(outline, 10) - flat(x - 200, 0, x + 200, y), 198, 256, L(f"out{x}", f"ch.{name}"))
    path = soft([(330, 380), (520, 300), (690, 205), (1000, 190), (1230, 205), (1400, 300), (1560, 390)], 3)
    along = np.linspace(300, 1640, 60)
    beside = shape(*side.points(*zip(along, rails.y(along) - rails.wide / 2, strict=True), (1640, 900), (300, 900)))
    arms = LineString(side.points(*path)).buffer(30, cap_style=2, join_style=1) - beside
    b.prism("frame", "xy", arms, 190, 256, L("cruciform", "ch.main_c"))
    rails.across(b, side, 0, 212, 276, L("frontcross", "ch.front"), wide=150)
    rails.across(b, side, -470, 268, 318, L("nosecross", "ch.front"), wide=64)
    b.prism("frame", "xy", flat(-92, 352, 92, 436, 16), 250, 520, L("turret", "ch.front"))
    b.prism("frame", "xy", flat(-52, 366, 52, 424, 12), 520, 536, L("turret/cap", "ch.front"))
    for z, reach in ((236, 566), (420, 548)):
        arm = shape(
            *side.points(
                (-130, 420), (-100, 420), (-14, reach - 40), (14, reach - 40), (100, 420), (130, 420), (30, reach), (-30, reach)
            )
        )
        b.prism("running", "xy", rounded(arm, 8), z, z + 26, L(f"arm{z}", None, "part"))
    mount = [(1636, 250), (1790, 330), (1752, 206), (1650, 200)]
    b.prism("frame", "xz", shape(*mount, r=14), side.s * 400, side.s * 478, L("arm.front", "ch.arm"))
    shackle = [(2690, 400), (2800, 400), (2782, 268), (2708, 268)]
    b.prism("frame", "xz", shape(*shackle, r=14), side.s * 360, side.s * 478, L("arm.rear", "ch.arm"))
    leaf_spring(b, side, "rear", 1702, 2744, 428, 258, rise=28, leaves=4, wide=52)
    for x in (0, AXLE):
        wheel(b, side, x, 606, radius=TYRE, wide=150, rim=188, cap=62)
    iron = flat(-632, 346, -500, 388)
    b.prism("iron", "xy", iron, 352, 378, L("iron", None, "part"))
    for x, z0, z1 in ((2080, 384, 452), (2914, 390, 450)):
        zone = "ch.kick" if x < EXTENSION else "ch.rear"
        b.prism("frame", "xy", flat(x - 34, 0, x + 34, 286), z0, z1, C(f"cross{x}", zone))


def chassis_middle(b: Body) -> None:
    """Engine, gearbox, shaft, axle, radiator, exhaust."""
    inline_engine(b, -210, 360, 200, 570, wide=280)
    radiator(b, -430, 250, 300, 650)
    hoses(b, (-380, -80, 610), (-196, 80, 625), (350, 100, 530), 596)
    gearbox(b, 392, 900, 330)
    drive_shaft(b, 900, AXLE - 172, 0, 330, TYRE, r=36)
    live_axle(b, AXLE, TYRE, 560)
    pipe = soft(np.array([(200.0, -200, 230), (620, -262, 222), (1500, -262, 222), (1780, -236, 226), (1990, -220, 230)]), 3)
    b.sweep("running", pipe, bar(46, 46, 20), Label("pipe", None, "part"), upright=False)
    tail = soft(np.array([(2000.0, -220, 230), (2240, -236, 226), (2700, -236, 286), (TAIL - 60, -236, 300)]), 3)
    b.sweep("running", tail, bar(44, 44, 20), Label("tailpipe", None, "part"), upright=False)
    b.prism("running", "xy", block(1130, -320, 1590, -214, 40), 192, 262, Label("muffler", None, "part"))


def bumpers(b: Body) -> None:
    """Quarter bumpers at the four corners, number plates."""
    for s in (1, -1):
        for name, start, end, z in (("front", LINE.nose + 330, -380, 366), ("rear", LINE.tail - 330, 2800, 372)):
            u = np.linspace(start, end, 60)
            px, py, _ = skin(u, z + 0 * u)
            nx, ny = LINE.along(u)[2:]
            path = np.c_[px + 32 * nx, s * (py + 32 * ny), z + 0 * u]
            b.sweep("bumper", path, bar(26, 62, 12), Label(f"bumper{name}{s}", None, "soft"))
    b.prism("plate", "yz", block(-190, 274, 190, 330, 8), NOSE - 14, NOSE - 12, Label("numberfront", None, "glass"))
    b.prism("plate", "yz", block(-230, 396, 230, 478, 8), TAIL + 10, TAIL + 12, Label("numberrear", None, "glass"))
