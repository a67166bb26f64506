"""The coupe's glasshouse: pillars, windshield, rear glass, side windows, roof with its drip rails and sunroof."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import bar, block, disc, shape, steps
from engine.sides import Side, centre, sides
from engine.solid import Body

from bodies.coupe_shape import (
    CODE,
    CORNER,
    DRIP,
    LOCK,
    REAR_CORNER,
    back_x,
    end_sheet,
    glass_half,
    house_edge,
    house_paint,
    house_y,
    roof,
    roof_z,
    wind_x,
)

FOOT = 872


def glasshouse_side(b: Body, side: Side) -> None:
    """Pillars, door frame and windows of one side, in side view; drip rail above them."""
    L = side.label
    z = np.linspace(FOOT, DRIP, 60)
    front, rear = house_edge(z, front=True, share=0.75), house_edge(z, front=False, share=0.75)
    outline = shape(*zip(front, z, strict=True), *zip(rear[::-1], z[::-1], strict=True))
    frame = shape((846, FOOT - 9), (LOCK, FOOT - 9), (LOCK, 1256), (1216, 1256), (1180, 1240)).buffer(-14).buffer(14)
    pane = shape((940, 918), (1738, 918), (1738, 1232), (1226, 1232), r=24)
    vent = pane & shape((0, 0), (1124, 0), (1124, 2000), (0, 2000))
    drop = pane & block(1146, 0, 9999, 9999)
    quarter = shape((1846, 918), (2322, 918), (2170, 1176), (2080, 1232), (1846, 1232), r=34)

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        low, high = house_edge(V, front=True, share=0.75), house_edge(V, front=False, share=0.75)
        x = np.clip(U, low, high)
        return x, side.s * house_y(x, V), V

    b.sheet(
        "house",
        put,
        np.unique(np.r_[steps(700, 1350, 8), steps(1350, 2060, 40), steps(2060, 2760, 8)]),
        steps(FOOT, DRIP, 12),
        [
            (L("house"), outline),
            (L("doorframe"), frame),
            (L("seal", None, "well"), pane.buffer(9)),
            (L("glass", None, "glass"), vent),
            (L("glass", None, "glass"), drop),
            (L("seal2", None, "well"), quarter.buffer(18)),
            (L("glass2", None, "glass"), quarter),
        ],
        blend=True,
    )
    x = np.linspace(1212, 2154, 120)
    height = 0 * x + DRIP - 4
    y = house_y(x, height) + 4 - 26 * np.clip((x - 2130) / 24, 0, 1) ** 2 - 26 * np.clip((1236 - x) / 24, 0, 1) ** 2
    b.sweep("driprail", np.c_[x, side.s * y, height], bar(20, 24, 8), L("rail", "driprail"))


def glasshouse_middle(b: Body) -> None:
    """Windshield, rear glass and roof."""
    C = centre(CODE)
    left, right = sides(CODE)
    half = lambda z: float(glass_half(z))  # noqa: E731
    wind = shape((-560, 966), (560, 966), (484, 1238), (-484, 1238), r=60)
    rear = shape((-500, 962), (500, 962), (420, 1246), (-420, 1246), r=70)
    whole = block(-760, 800, 760, 1400)
    end_sheet(
        b,
        "house",
        wind_x,
        [
            (C("wsframe"), whole),
            *(house_paint(q, q.label("house"), FOOT, inner=lambda z: half(z) - 74) for q in (left, right)),
            (C("wsframe", "ws.lower"), block(-642, 800, 642, 966)),
            (C("wsseal", None, "well"), wind.buffer(16)),
            (C("wsglass", None, "glass"), wind),
        ],
        FOOT,
        bend=CORNER,
    )
    end_sheet(
        b,
        "house",
        back_x,
        [
            (C("rgframe"), whole),
            *(house_paint(q, q.label("house"), FOOT, inner=lambda z: half(z) - 128) for q in (left, right)),
            (C("rgframe", "rg.channel"), block(-588, 800, 588, 962)),
            (C("rgseal", None, "well"), rear.buffer(16)),
            (C("rgglass", None, "glass"), rear),
        ],
        FOOT,
        bend=REAR_CORNER,
    )
    rounds = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 81))
    b.sheet("roof", roof, rounds, rounds, C("roof", "roof"))
    _sunroof(b)
    for s in (1, -1):
        y = np.linspace(s * 60, s * 470, 9) - 30
        z = 958 + 0.05 * np.abs(y - s * 60)
        b.sweep("wiper", np.c_[wind_x(y, z) - 8, y, z + 6], bar(10, 8, 3), C(f"wiper{s}", None, "part"), upright=False)


def _sunroof(b: Body) -> None:
    """Tray, drains and opening; drawn in a view of its own alone, so that a roof without them loses nothing."""
    C = centre(CODE)
    hole = block(1420, -340, 1940, 340, 50)
    corners = [(x, y) for x in (1450, 1910) for y in (-310, 310)]
    b.plate(
        "sunroof",
        "xy",
        lambda x, y: roof_z(x, y) + 2,
        [
            (C("tray", "sunroof"), hole),
            *((C(f"drain{k}", None, "well"), disc(x, y, 12)) for k, (x, y) in enumerate(corners)),
            (C("opening", None, "well"), block(1480, -280, 1880, 280, 36)),
        ],
        step=20,
        blend=True,
    )
