"""The open tub's frame and running gear."""

from __future__ import annotations

import numpy as np
from engine.shapes import bar, block, curve, disc, shape, soft
from engine.sides import Side, centre
from engine.solid import Body, Label
from parts.axles import drive_shaft, live_axle
from parts.engine import gearbox, hoses, inline_engine, radiator
from parts.fourwheel import driven_front_axle, transfer_case
from parts.ladder import Rails
from parts.springs import leaf_spring
from parts.wheels import wheel

from bodies.open_tub_shape import AXLE, CODE, WALL

RAIL_Y, HEAD, BATTERY = 385, -120, (200, 470)
rails = Rails(
    -715,
    2800,
    y=lambda x: RAIL_Y + 0 * x,
    z=curve([-715, -430, 1500, 1920, 2450, 2800], [545, 515, 515, 592, 592, 592]),
    height=curve([-715, -430, 1500, 1920, 2800], [96, 120, 120, 108, 100]),
    wide=70,
)
FRONT_EYES, REAR_EYES = (-520, 500), (1770, 2710)


def frame_side(b: Body, side: Side, battery_side: str) -> None:
    """One boxed rail with its zones, what it looks like inside, brackets, hangers, springs; the wheels."""
    L, s = side.label, side.s
    mid = L("rail", "frame.rail_mid")
    middle = [(-430, 1560, mid)]
    if battery_side == side.letter:
        x0, x1 = BATTERY
        middle = [(-430, x0, mid), (x0, x1, Label(f"rail.{side.letter}", f"{CODE}.frame.battery")), (x1, 1560, mid)]
    top = L("rail", "frame.rail_top")
    stretches = [
        (-715, -430, L("rail", "frame.front_horn")),
        *middle,
        (1560, 2500, L("rail", "frame.rear_kick")),
        (2500, 2800, L("rail", "frame.rear_hanger")),
    ]
    rails.draw(b, side, stretches, top=[(480, 1560, top)])
    x = np.linspace(-700, 2790, 150)
    z, h = rails.z(x), rails.height(x) / 2
    web = shape(*zip(x, z + h - 1, strict=True), *zip(x[::-1], (z - h)[::-1] + 1, strict=True))
    hollow = web.buffer(-9) & block(-430, 0, 1560, 999, 1)
    holes = [(L(f"hole{q}", None, "well"), disc(q, 515, 17)) for q in (-200, 620, 1120, 1400)]
    b.plate(
        "railin", "xz", s * (RAIL_Y + 2), [(L("railcut", None, "part"), web), (L("railin", "frame.rail_inside"), hollow), *holes]
    )
    b.prism("frame", "xy", side.flat(-668, 0, -590, RAIL_Y - 35), 510, 575, L("firstcm", "frame.front_horn"))
    for q, reach, tip in ((700, 664, 72), (1250, 640, 56), (1640, 640, 56)):
        rails.outrigger(b, side, q, reach, 540 if q < 1600 else 552, L(f"bracket{q}", "frame.outrigger"), root=84, tip=tip)
        b.turn(
            "rubber", (q, s * 590, 0), [(570, 0), (570, 46), (590, 46), (590, 0)], L(f"rubber{q}", None, "part"), n=40, axis="z"
        )
    rails.outrigger(b, side, 2760, 600, 556, L("bracketrear", "frame.outrigger"), root=38, tip=36)
    for q in FRONT_EYES:
        rails.hanger(
            b,
            side,
            [(q - 74, 500), (q + 74, 500), (q + 40, 400), (q - 40, 400)],
            355,
            415,
            L(f"fronthanger{q}", "frame.front_hanger"),
        )
    for q in REAR_EYES:
        rails.hanger(
            b,
            side,
            [(q - 86, 566), (q + 86, 566), (q + 40, 416), (q - 40, 416)],
            355,
            415,
            L(f"rearhanger{q}", "frame.rear_hanger"),
        )
    leaf_spring(b, side, "front", *FRONT_EYES, RAIL_Y, 424, rise=14, wide=60)
    leaf_spring(b, side, "rear", *REAR_EYES, RAIL_Y, 426, rise=28, leaves=5, wide=60)
    for q in (0, AXLE):
        wheel(b, side, q, 640, radius=372, wide=176, rim=206, cap=74)


def frame_middle(b: Body) -> None:
    """Cross pieces, engine and drive."""
    C = centre(CODE)
    rails.cross(b, 1000, 500, C("transcm", "frame.trans_cm"), wide=120, tall=60, flare=40)
    for x, z in ((1600, 540), (2060, 596)):
        rails.cross(b, x, z, C(f"cross{x}"), tall=70)
    b.prism("frame", "xy", block(2700, -RAIL_Y + 35, 2796, RAIL_Y - 35), 544, 640, C("rearcm", "frame.rear_cm"))
    b.prism("frame", "yz", shape((-150, 470), (150, 470), (210, 630), (-210, 630), r=16), 2797, 2807, C("hitch", "frame.rear_cm"))
    b.turn("frame", (2807, 0, 520), [(0, 46), (26, 40), (26, 0)], C("hitchhook", None, "part"), n=50, axis="x")
    inline_engine(b, -270, 340, 470, 826, wide=300)
    radiator(b, -492, 320, 640, 1020)
    hoses(b, (-442, -100, 974), (-256, 90, 886), (330, 110, 786), WALL - 4)
    gearbox(b, 350, 860, 560)
    transfer_case(b, 850, 1090, HEAD, 540)
    drive_shaft(b, 1090, AXLE - 172, HEAD, 520, 380)
    drive_shaft(b, 172, 850, HEAD, 380, 505, 34)
    live_axle(b, AXLE, 372, 560, head=HEAD)
    driven_front_axle(b, 0, 372, 560, head=HEAD)
    tank = block(2390, -330, 2650, 330, 40)
    b.prism("tank", "xy", tank, 470, 640, C("tank", "tank"))
    b.prism("tank", "xy", tank.buffer(14, join_style=2) - tank.buffer(-2), 556, 564, C("tankflange", "tank"))
    for y in (-200, 200):
        b.prism("tank", "xy", block(2372, y - 20, 2668, y + 20), 464, 646, C(f"strap{y}", "tank"))
    b.turn("tank", (2470, 60, 640), [(0, 62), (8, 62), (8, 0)], C("sender", "tank"), n=50, axis="z")
    for s in (1, -1):
        b.prism("bumper", "xy", block(2915, s * 450, 2975, s * 690, 22), 545, 640, C(f"bumperrear{s}", None, "soft"))
        b.prism("bumper", "xy", block(2790, s * 470, 2920, s * 520), 570, 610, C(f"bumperarm{s}", None, "part"))
    pipe = [(430, 270, 440), (1100, 285, 440), (1560, 282, 440), (1690, 280, 424)]
    q = np.linspace(0, 2 * np.pi, 13)[:-1]
    b.sweep(
        "running",
        soft(np.array(pipe, float), 3),
        np.c_[24 * np.cos(q), 24 * np.sin(q)],
        C("exhaust", None, "part"),
        upright=False,
    )
    b.sweep("running", [(x, 287, 442) for x in (1080, 1110, 1420, 1450)], bar(130, 88, 40), C("silencer", None, "part"))
