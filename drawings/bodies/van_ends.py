"""The van's nose, tail and roof: windshield with its channel, fresh-air grille, lamps, lid, tailgate, ribs, roof cut-out."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import Shape, bar, block, shape, steps
from engine.sides import Side, centre
from engine.solid import Body, Label

from bodies.van_shape import (
    ALL,
    CODE,
    DECK,
    NOSE_U,
    TAIL_U,
    around,
    roof,
    skin,
    skin_sheet,
    zone,
)

GATE = block(TAIL_U - 636, DECK + 44, TAIL_U + 640, 1700, 60)
LID = block(TAIL_U - 540, 476, TAIL_U + 540, 836, 46)
Paint = list[tuple[Label | None, Shape]]


def _half(polygon: Shape) -> Shape:
    """The half of a shape about the tail's middle that lies on this side of it."""
    return polygon & block(-ALL, 0, TAIL_U + 1, ALL)


def nose_paint(side: Side, body: Shape) -> Paint:
    """Windshield, fresh-air grille, lamps and lower panel of one half of the nose."""
    C, L, n = centre(CODE), side.label, NOSE_U
    here = block(n - 1, 0, ALL, ALL)
    pane = shape((n - 800, 1184), (n + 690, 1184), (n + 676, 1560), (n + 620, 1664), (n - 800, 1664), r=58) & here
    channel = pane.buffer(72) & block(n - 1, 1100, ALL, 1262)
    band = block(n - 600, 990, n + 452, 1078, 30) & here
    slots = [block(n + q, 1010, n + q + 118, 1058, 12) & here for q in (-59, 84, 228)]
    face = block(n - 800, 652, n + 640, 838, 60) & here
    lamp, park = block(n + 430, 676, n + 608, 814, 34), block(n + 300, 700, n + 400, 790, 26)
    stripes = [(C(f"face/{z}"), block(n - 800, z, n + 262, z + 12, 5) & here) for z in (690, 726, 762, 798)]
    return [
        (C("body", "nose.low"), body & block(n - 1, 0, n + 800, 596)),
        (C("body/crease", "nose.low"), body & block(n - 1, 560, n + 800, 572)),
        (C("body/face"), face),
        *((Label(f"body{label.panel}"), stripe) for label, stripe in stripes),
        (L("parkrim", None, "part"), park.buffer(9)),
        (L("parklens", None, "glass"), park),
        (L("bezel", None, "part"), lamp.buffer(13)),
        (L("lamp", None, "glass"), lamp),
        (L("lamp/ring", None, "glass"), lamp - lamp.buffer(-16)),
        (C("body/scuttle", "scuttle"), band),
        *((C(f"vent{k}", None, "well"), slot) for k, slot in enumerate(slots)),
        (C("body", "screen.low"), channel),
        (C("wsseal", None, "well"), pane.buffer(16)),
        (C("wsglass", None, "glass"), pane),
    ]


def tail_paint(side: Side, body: Shape) -> Paint:
    """Rear corner, valance, tailgate frame, lamps; holes for tailgate and engine lid."""
    C, L, t = centre(CODE), side.label, TAIL_U
    lamp = block(t - 742, 596, t - 640, 838, 30)
    frame = block(t - 690, DECK - 20, t + 1, 1120) & _half(GATE.buffer(52))
    louvres = [block(2826, q, 2976, q + 18, 8) for q in range(650, 790, 38)]
    return [
        (zone(side, "body", "corner.r"), body & block(2850, 0, t - 560, 582)),
        (C("body", "valance.r"), body & block(t - 600, 0, t + 1, 456)),
        (C("body/valance", "valance.r"), body & block(t - 560, 384, t + 1, 396)),
        (C("body", "tailframe"), frame),
        (L("lampseal", None, "part"), lamp.buffer(11)),
        (L("lamps", None, "glass"), lamp),
        (L("lamps/low", None, "glass"), lamp & block(0, 0, ALL, 680)),
        *((L(f"louvre{k}", None, "well"), q) for k, q in enumerate(louvres)),
        (None, _half(GATE)),
        (None, _half(LID)),
    ]


def lid_and_gate(b: Body) -> None:
    """Tailgate with its window, engine lid, number plate."""
    C, t = centre(CODE), TAIL_U
    gate, lid = _half(GATE.buffer(1)), _half(LID.buffer(1))
    pane = _half(block(t - 520, 1180, t + 520, 1604, 70))
    press = _half(block(t - 470, 540, t + 470, 780, 40))
    for side in (Side(CODE, "l", 1), Side(CODE, "r", -1)):
        skin_sheet(
            b,
            "gate",
            side,
            [
                (C("gate"), gate),
                (C("gate", "tailgate"), gate & block(0, 0, ALL, DECK + 156)),
                (C("gateseal", None, "well"), pane.buffer(15) & block(0, 0, t + 1, ALL)),
                (C("gateglass", None, "glass"), pane),
                (C("gatehandle", None, "part"), block(t - 70, 1074, t + 70, 1104, 12) & block(0, 0, t + 1, ALL)),
            ],
            (t - 642, DECK + 42, t, 1702),
        )
        skin_sheet(b, "lid", side, [(C("lid"), lid), (C("lid/press"), press)], (t - 542, 474, t, 838))
    x = float(skin(t, 640)[0])
    b.prism("plate", "yz", block(-240, 600, 240, 712, 10), x + 2, x + 8, C("platerear", None, "glass"))
    b.turn("plate", (x + 2, 0, 806), [(0, 0), (0, 24), (16, 18), (16, 0)], C("lidlock", None, "part"), n=40, axis="x")


def roof_side(b: Body, side: Side) -> None:
    """One half of the roof with its ribs."""
    C, n, t = centre(CODE), NOSE_U, TAIL_U
    ribs = [block(x, 130, x + 56, 1001) for x in range(480, 2700, 370)]

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        x, y, z = roof(U, V)
        return x, side.s * y, z

    v = 1000 * (1 - np.cos(np.linspace(0, np.pi / 2, 60)))
    paint: Paint = [(C("roof", "roof"), block(n - 1, -1, t + 1, 1002))]
    paint += [(C(f"roof/{k}", "roof"), rib) for k, rib in enumerate(ribs)]
    b.sheet("roof", put, steps(n, t, 14), v, paint, blend=True)


def roof_middle(b: Body) -> None:
    """Cut-out and frame of a raised roof; drawn in a view of its own alone, so that a plain roof loses nothing."""
    C = centre(CODE)
    hole = block(596, 340, 1900, 1002)
    frame = hole.buffer(-1) - block(676, 460, 1820, 1003)
    for s in (1, -1):

        def put(U: Any, V: Any, s: int = s) -> tuple[Any, Any, Any]:
            x, y, z = roof(U, V)
            return x, s * y, z + 4

        b.sheet(
            "cutout",
            put,
            steps(580, 1920, 20),
            steps(320, 1000, 20),
            [(C("cutwell", None, "well"), hole), (C("cutframe", "roofcut"), frame)],
            blend=True,
        )


def trim(b: Body) -> None:
    """Bumpers, wipers, number plate in front."""
    C, n, t = centre(CODE), NOSE_U, TAIL_U
    for name, u0, u1, z in (("front", n, -640, 400), ("rear", 3100, t, 420)):
        half = around(z, u0, u1, 40, 70)
        half = half if name == "front" else half[::-1]
        half[0, 1] = 0
        whole = np.vstack([(half * [1, -1, 1])[::-1], half[1:]])
        b.sweep("bumper", whole, bar(34, 96, 14), C(f"bumper{name}", None, "soft"))
    front = float(skin(n, 470)[0])
    b.prism("plate", "yz", block(-230, 474, 230, 550, 8), front - 18, front - 12, C("platefront", None, "glass"))
    for s in (1, -1):
        height = np.linspace(1152, 1216, 12)
        x, y, _ = skin(n + np.linspace(470, 40, 12), height)
        path = np.c_[x - 16, s * y, height]
        b.sweep("wiper", path, bar(11, 10, 4), C(f"wiper{s}", None, "part"), upright=False)
        b.turn(
            "wiper",
            (float(x[0]) - 24, float(s * y[0]), 1150),
            [(0, 0), (0, 15), (24, 18)],
            C(f"pivot{s}", None, "part"),
            n=30,
            axis="x",
        )
