"""The van's platform: legs, outriggers, cross-bearers, sills in three layers, jack tubes; running gear, heater tubes, engine."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import bar, block, curve, disc, shape, soft, steps
from engine.sides import Side, centre
from engine.solid import Body
from parts.ladder import Rails
from parts.wheels import wheel

from bodies.van_shape import (
    ALL,
    AXLE,
    CAB_FLOOR,
    CODE,
    DECK,
    FLOOR,
    LOCK,
    RADIUS,
    SILL,
    SILL_IN,
    SILL_MID,
    STEP,
    WALL,
    side_y,
    skin_sheet,
    zone,
)

SILL_0, SILL_1, JOINT = 418, 2068, 1260
legs = Rails(
    -840,
    3200,
    y=curve([-840, -200, 700, 3200], [372, 372, 392, 392]),
    z=curve([-840, -300, 300, 520, 3200], [452, 446, 440, 418, 420]),
    height=curve([-840, 200, 600, 3200], [90, 104, 88, 96]),
    wide=68,
)


def structure_side(b: Body, side: Side) -> None:
    """Legs with the arm brackets, outriggers, cross-bearers, sill, jack tubes of one side."""
    L, s = side.label, side.s
    legs.draw(b, side, [(-840, JOINT, L("legfront", "leg.f")), (JOINT, 3200, L("legrear", "leg.r"))])
    bracket = shape(*side.points((2010, 426), (2150, 426), (2120, 520), (2040, 520)), r=12)
    b.prism("frame", "xy", bracket, 300, 430, L("legrear", "leg.r"))
    for k, (x, z) in enumerate(((-470, 396), (640, 372), (1120, 372), (1900, 372))):
        tip, root = (706, 404) if k == 0 else (SILL_IN - 3, float(legs.y(x)) + 34)
        polygon = shape(*side.points((x - 74, root), (x + 74, root), (x + 46, tip), (x - 46, tip)), r=8)
        b.prism("outrigger", "xy", polygon, z, z + 84, L(f"outrigger{k}", "outrigger"))
        hole = disc(x, s * (root + tip) / 2, 22)
        b.plate("outrigger", "xy", z - 2, [(L(f"outhole{k}", None, "well"), hole)])
    for k, x in enumerate((470, 830, 1330, 1620)):
        b.prism("tophat", "xy", side.flat(x, 0, x + 96, SILL_IN - 3), 464, FLOOR - 8, zone(side, f"tophat{k}", "tophat"))
        crown = side.flat(x + 22, 0, x + 74, SILL_IN - 24)
        b.plate("tophat", "xy", 461, [(zone(side, f"tophat{k}/crown", "tophat"), crown)])
    _sill(b, side)
    _posts(b, side)


def _sill(b: Body, side: Side) -> None:
    """Inner skin, the middle layer with its holes, the underside of the box, jack tubes."""
    L, s = side.label, side.s
    box = block(SILL_0, SILL + 6, SILL_1, FLOOR - 4)
    b.plate("sillin", "xz", s * SILL_IN, [(L("sillin", "sill.in"), box)])
    middle = block(SILL_0, SILL + 6, SILL_1, FLOOR - 10)
    holes = [disc(x, 372, 30) for x in np.linspace(560, 1920, 6)]
    b.plate(
        "sillmid",
        "xz",
        s * SILL_MID,
        [
            (L("sillmid", "sill.mid"), middle),
            (L("sillmid/lip", "sill.mid"), block(SILL_0, SILL + 12, SILL_1, SILL + 36)),
            *((L(f"hole{k}", None, "well"), hole) for k, hole in enumerate(holes)),
        ],
    )

    def under(U: Any, V: Any) -> tuple[Any, Any, Any]:
        return U, s * (SILL_IN + (side_y(U, SILL + 0 * U) - SILL_IN) * V / 100), SILL + 2 + 0 * U

    b.sheet(
        "sillunder",
        under,
        steps(SILL_0, SILL_1, 30),
        [0, 100],
        [(L("sillunder", "sill.in"), block(SILL_0, 0, SILL_1, 34)), (L("sillunder", "sill.out"), block(SILL_0, 34, SILL_1, 101))],
    )
    for x in (560, 1990):
        b.turn(
            "jack",
            (x, s * 776, 0),
            [(SILL - 26, 26), (SILL - 26, 46), (SILL + 6, 56)],
            L(f"jacktube{x}", "jack"),
            n=50,
            axis="z",
        )
        b.plate("jack", "xy", SILL - 24, [(L(f"jackhole{x}", None, "well"), disc(x, s * 776, 26))])


def _posts(b: Body, side: Side) -> None:
    """The inner frame of the side: posts, rails at belt and gutter."""
    L = side.label
    apost, bpost = block(-692, 300, -604, 1742), block(LOCK + 64, STEP, 500, 1742)
    rails = block(-692, 1668, 3060, 1742) | block(LOCK + 64, 1076, 3060, 1128)
    posts = block(1498, FLOOR, 1528, 1742) | block(3002, 600, 3060, 1742)
    frame = (apost | bpost | rails | posts).buffer(-12).buffer(24).buffer(-12) & block(-692, 300, 3060, 1742)
    skin_sheet(
        b,
        "postin",
        side,
        [
            (L("postin"), frame),
            (L("postin", "bpost"), bpost & block(0, 0, ALL, 800)),
            (L("postin", "apost"), apost & block(-ALL, 0, ALL, 780)),
            *((L(f"posthinge{z}", None, "part"), block(-640, z, -606, z + 74, 6)) for z in (420, 660)),
        ],
        (-692, 300, 3060, 1742),
        lift=-16,
    )


def running_side(b: Body, side: Side) -> None:
    """Wheels, arms and drive shaft of one side."""
    L, s = side.label, side.s
    for x in (0, AXLE):
        wheel(b, side, x, 706, radius=RADIUS, wide=168, rim=180, cap=76)
    for z in (286, 372):
        arm = shape(*side.points((-60, 330), (60, 330), (44, 600), (-44, 600)), r=14)
        b.prism("running", "xy", arm, z - 16, z + 16, L(f"arm{z}", None, "part"))
    swing = np.array([[2080, s * 474, 350], [2250, s * 520, 338], [AXLE, s * 590, RADIUS]])
    b.sweep("running", soft(swing, 3), bar(58, 70, 14), L("swing", None, "part"))
    shaft = np.linspace([AXLE - 6, s * 120, 350], [AXLE, s * 610, RADIUS], 6)
    b.sweep("running", shaft, bar(62, 62, 28), L("halfshaft", None, "part"), upright=False)
    b.turn(
        "running",
        (AXLE + 90, s * 560, 300),
        [(0, 0), (0, 32), (150, 32), (150, 22), (330, 22)],
        L("damper", None, "part"),
        n=40,
        axis="z",
    )


def structure_middle(b: Body) -> None:
    """Front beam with its mounts, spare wheel holder, engine bay firewall, rear crossmember."""
    C = centre(CODE)
    outline = [(-96, 406), (96, 406), (96, 330), (62, 280), (62, -280), (96, -330), (96, -406), (-96, -406)]
    outline += [(-96, -330), (-62, -280), (-62, 280), (-96, 330)]
    b.prism("frame", "xy", shape(*outline, r=10), 300, 386, C("beam", "beam"))
    b.plate("frame", "xy", 297, [(C("beam/rib", "beam"), block(-22, -270, 22, 270, 16))])
    for s in (1, -1):
        for x in (-64, 64):
            b.plate("frame", "xy", 296, [(C(f"beambolt{s}{x}", None, "well"), disc(x, s * 368, 15))])
    x0, r = -520.0, 262.0
    dish = [(CAB_FLOOR - 8, r), (392, r - 16), (372, r - 40), (372, 96), (384, 84), (384, 0)]
    b.turn("spare", (x0, 0, 0), dish[:4], C("spare", "spare"), n=120, axis="z")
    b.turn("spare", (x0, 0, 0), dish[3:], C("spare/boss", "spare"), n=60, axis="z")
    b.plate(
        "spare",
        "xy",
        371,
        [(C(f"sparehole{k}", None, "well"), disc(x0 + x, y, 17)) for k, (x, y) in enumerate(((170, 0), (-170, 0)))],
    )
    wall = block(-740, 380, 740, DECK - 8) - block(-742, 300, -540, 720) - block(540, 300, 742, 720)
    b.plate(
        "firewall",
        "yz",
        WALL,
        [
            (C("firewall", "enginebay"), wall),
            (C("firewall/press", "enginebay"), block(-420, 660, 420, 800, 40)),
            *((C(f"duct{s}", None, "well"), disc(s * 180, 440, 44)) for s in (1, -1)),
        ],
    )
    b.prism("frame", "xy", block(3200, -430, 3256, 430, 8), 376, 462, C("rearcross"))
    b.prism("frame", "xy", block(2000, -356, 2080, 356, 8), 392, 470, C("midcross"))


def running_middle(b: Body) -> None:
    """Heater tubes, transaxle, flat engine with fan housing, silencer."""
    C = centre(CODE)
    q = np.linspace(0, 2 * np.pi, 25)[:-1]
    ring = np.c_[42 * np.cos(q), 42 * np.sin(q)]
    for s in (1, -1):
        path = soft(
            np.array(
                [
                    [210, s * 96, 424],
                    [380, s * 120, 416],
                    [700, s * 180, 408],
                    [2280, s * 190, 408],
                    [2560, s * 290, 440],
                    [2766, s * 300, 490],
                ]
            ),
            3,
        )
        b.sweep("heater", path, ring, C(f"tube{s}", "heater"), upright=False)
        b.turn("engine", (2940, s * 250, 560), [(-90, 96), (90, 96)], C(f"barrel{s}", None, "part"), n=40, axis="z")
        b.prism("engine", "xy", block(2760, s * 190, 3080, s * 400, 24), 420, 560, C(f"head{s}", None, "part"))
        for k in range(5):
            b.plate(
                "engine", "xy", 562, [(C(f"fin{s}{k}", None, "soft"), block(2800 + 54 * k, s * 210, 2822 + 54 * k, s * 380, 4))]
            )
    b.prism("heater", "xy", block(104, -146, 236, 146, 34), 374, 474, C("heaterbox", "heater"))
    case = [(2110, 70), (2300, 96), (2400, 150), (2540, 150), (2620, 176), (2640, 176)]
    outline = shape(*case, *[(x, -y) for x, y in case[::-1]], r=24)
    b.prism("running", "xy", outline, 286, 430, C("transaxle", None, "part"))
    b.prism("engine", "xy", block(2640, -190, 3110, 190, 40), 400, 640, C("crankcase", None, "part"))
    b.prism("running", "xy", block(2650, -170, 3090, 170, 40), 306, 402, C("sump", None, "part"))
    b.turn(
        "engine",
        (3050, 0, 690),
        [(-150, 0), (-150, 150), (-10, 170), (40, 150), (40, 50)],
        C("fanhouse", None, "part"),
        n=80,
        axis="x",
    )
    b.turn("engine", (3110, 0, 520), [(0, 0), (0, 74), (26, 74), (26, 0)], C("pulley", None, "part"), n=60, axis="x")
    b.turn(
        "engine",
        (2772, -40, 640),
        [(0, 110), (90, 110), (100, 96), (100, 20), (112, 0)],
        C("aircleaner", None, "part"),
        n=60,
        axis="z",
    )
    b.prism("exhaust", "yz", block(-330, 300, 330, 404, 50), 3130, 3196, C("silencer", None, "part"))
