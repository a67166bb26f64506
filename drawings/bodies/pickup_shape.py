"""The pickup's surfaces: section, plan outline, crown; one skin from the middle of the nose to the tail. Millimetres."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import Shape, arc, block, curve, disc, shape, steps
from engine.sides import Side
from engine.solid import Body, Label
from parts.outline import plan_line

CODE, ALL = "pu", 9999
NOSE, COWL, CAB_BACK, BED, TAIL, AXLE = -850, 563, 1760, 1804, 4040, 2940
SILL, FLOOR, BED_FLOOR, BELT, RAIL, DRIP = 425, 640, 775, 1180, 1140, 1690
WIDEST, ROUND, HOOD = 962, 86, 622
shoulder = curve([200, COWL, 640], [1, 0.35, 0])
half_width = curve(
    [380, 450, 600, 820, 1000, 1100, BELT, 1260, DRIP, 1750], [914, 936, 953, WIDEST, 954, 937, 908, 882, 740, 715]
)


def barrel(x: Any) -> Any:
    """How much narrower the sides are towards nose and tail."""
    return 10 * ((x - 1600) / 2400) ** 2


def crown(x: Any, y: Any) -> Any:
    """Top of hood, fenders and cowl in one surface."""
    return 1124 + 0.045 * (x - NOSE) - 46 * np.clip((-380 - x) / 470, 0, 1) ** 2 - 40 * (y / HOOD) ** 2


def _outline() -> Shape:
    """The plan outline at its widest, its corners still sharp."""
    y, x = np.linspace(-WIDEST - 200, WIDEST + 200, 200), np.linspace(-2000, 1400, 100)
    front = shape(*[(NOSE + 95 * (q / 900) ** 2, q) for q in y], (1400, 1200), (1400, -1200))
    return front & shape(*[(q, WIDEST - barrel(q)) for q in x], *[(q, -WIDEST + barrel(q)) for q in x[::-1]])


LINE = plan_line(_outline(), lambda x: WIDEST - barrel(x), corner=150, end=700)
MIDDLE = LINE.middle


def inset(u: Any, z: Any) -> Any:
    """How far the skin lies inside the plan outline at its widest."""
    f = shoulder(u)
    w = WIDEST - (f * half_width(np.minimum(z, 1000)) + (1 - f) * half_width(z))
    nose = np.clip((-900 - u) / 200, 0, 1)
    w = np.where(z > 820, w * (1 - nose), w)
    cab = (u > 1000) & (u < CAB_BACK + 20)
    w = w + np.where(cab, arc(u - (CAB_BACK - 0.155 * np.maximum(0, z - BELT)) + 80, 80), 0)
    return w + arc(u - TAIL + 24, 24)


def brow(u: Any) -> tuple[Any, Any, Any]:
    """Where the roll into hood and cowl ends: x, y (its plan outline) and the height at which it begins."""
    x, y, nx, ny = LINE.along(u)
    r = ROUND * shoulder(u)
    start = 1000 + 0 * r
    for _ in range(3):  # where it begins and how far in it ends depend on each other
        d = inset(u, start) + r
        start = crown(x - nx * d, y - ny * d) - r
    return x - nx * d, y - ny * d, start


def skin(u: Any, v: Any) -> tuple[Any, Any, Any]:
    """The outer skin on the left: u along the plan outline, v = height, and past the brow arc length over the roll."""
    x, y, nx, ny = LINE.along(u)
    r = ROUND * shoulder(u) + 1e-6
    start = np.where(u < 640, brow(u)[2], ALL)
    turn = np.clip((v - start) / r, 0, np.pi / 2)
    d = inset(u, np.minimum(v, start))
    rolled = d + r * (1 - np.cos(turn))
    x, y, foot = x - nx * rolled, y - ny * rolled, crown(x - nx * d, y - ny * d)
    over = crown(x, y) - (foot - start) * (1 - np.sin(turn))  # ends in the slope of the hood
    return x, y, np.where(v > start, over, v)


def side_y(x: Any, z: Any) -> Any:
    """Half width of the skin at x, z along the side."""
    return skin(np.asarray(x, float), np.asarray(z, float))[1]


FRONT_ARCH, REAR_ARCH = disc(0, 395, 435), disc(AXLE, 395, 445)
SWAGE = block(MIDDLE - 10, 985, TAIL, 1003)
HOOD_U = float(np.interp(HOOD, [brow(u)[1] for u in np.linspace(MIDDLE, -700, 200)], np.linspace(MIDDLE, -700, 200)))


def skin_sheet(
    b: Body,
    part: str,
    side: Side,
    paint: list[tuple[Label | None, Shape]],
    box: tuple[float, float, float, float],
    step: float = 16,
) -> None:
    """Paint on the skin of one side; box: u, v from, u, v to."""

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        x, y, z = skin(U, V)
        return x, side.s * y, z

    b.sheet(part, put, steps(box[0], box[2], step), steps(box[1], box[3], step), paint, blend=True)
