"""The van's surfaces: one skin all round from sill to gutter, the roof set on it. Millimetres."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import Shape, curve, shape, steps
from engine.sides import Side
from engine.solid import Body, Label
from parts.girth import girth

CODE, ALL = "mv", 9999
NOSE, AXLE, TAIL = -1010, 2440, 3390
SILL, STEP, BELT, DRIP, RISE, WIDEST, RADIUS = 262, 398, 1118, 1748, 190, 846, 318
DOOR, LOCK, SLIDE, SLIDE_END = -596, 342, 506, 1494
CAB_FLOOR, FLOOR, DECK, SILL_IN, SILL_MID, WALL = 524, 490, 884, 736, 782, 2560
FRONT_ARCH = shape((-398, 60), (398, 60), (384, 520), (262, 672), (-284, 672), (-384, 520), r=96)
REAR_ARCH = shape(*[(AXLE + q, h) for q, h in ((-352, 60), (352, 60), (346, 480), (226, 612), (-262, 612), (-346, 480))], r=90)

inset = curve([240, 420, 640, 900, 1060, BELT, 1180, 1480, DRIP], [46, 20, 5, 0, 1, 6, 14, 52, 104])
front_lean = curve([260, 480, 700, 960, BELT, 1400, DRIP], [54, 12, 0, 6, 30, 150, 312])
rear_lean = curve([260, 900, BELT, 1400, DRIP], [0, 0, 8, 50, 130])
narrowing = curve([NOSE, -300, 2700, TAIL], [26, 0, 0, 30])
FADE_FRONT, FADE_REAR = 330, 2300
SPINE_FRONT, SPINE_REAR = -60, 2800


def _outline() -> Shape:
    """The plan outline at its widest, its corners still sharp."""
    y, x = np.linspace(-1000, 1000, 200), np.linspace(-1600, 4200, 200)
    ends = shape(*[(NOSE + 74 * (q / 800) ** 2, q) for q in y], *[(TAIL - 46 * (q / 800) ** 2, q) for q in y[::-1]])
    half = WIDEST - narrowing(x)
    return ends & shape(*zip(x, half, strict=True), *zip(x[::-1], -half[::-1], strict=True))


LINE = girth(_outline(), front=215, back=150, x0=-660, x1=3120)
NOSE_U, TAIL_U = LINE.nose, LINE.tail


def skin(u: Any, v: Any) -> tuple[Any, Any, Any]:
    """The outer skin on the left: u along the plan outline, v = height; it leans in at nose and tail the more the higher."""
    x, y, nx, ny = LINE.along(u)
    d = inset(v)
    x, y = x - nx * d, y - ny * d
    front, rear = np.clip((FADE_FRONT - x) / (FADE_FRONT - NOSE), 0, 1), np.clip((x - FADE_REAR) / (TAIL - FADE_REAR), 0, 1)
    return x + front_lean(v) * front - rear_lean(v) * rear, y, v + 0 * x


def side_y(x: Any, z: Any) -> Any:
    """Half width of the skin at u = x, height z."""
    return skin(np.asarray(x, float), np.asarray(z, float))[1]


def roof(u: Any, v: Any) -> tuple[Any, Any, Any]:
    """The roof on the left: u as on the skin, v from 0 at the gutter to 1000 on the middle line."""
    x, y, _ = skin(u, DRIP + 0 * u)
    t = v / 1000
    spine = np.clip(x, SPINE_FRONT, SPINE_REAR)
    return x + (spine - x) * t, y * (1 - t), DRIP - 2 + RISE * (1 - (1 - t) ** 2.3) ** (1 / 2.3)


def zone(side: Side, panel: str, name: str) -> Label:
    """A zone of one side on a panel that runs through from side to side."""
    return Label(panel, f"{CODE}.{name}.{side.letter}")


def skin_sheet(
    b: Body,
    part: str,
    side: Side,
    paint: list[tuple[Label | None, Shape]],
    box: tuple[float, float, float, float],
    lift: float = 0,
) -> None:
    """Paint on the skin of one side; box: u, v from, u, v to; lift: mm outwards."""

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        x, y, z = skin(U, V)
        _, _, nx, ny = LINE.along(U)
        return x + lift * nx, side.s * (y + lift * ny), z

    b.sheet(part, put, steps(box[0], box[2], 13), steps(box[1], box[3], 14), paint, blend=True)


def around(z: float, u0: float, u1: float, out: float, n: int = 160) -> Any:
    """Points along the skin of the left at height z, `out` mm outside it: (n, 3)."""
    u = np.linspace(u0, u1, n)
    x, y, h = skin(u, z + 0 * u)
    _, _, nx, ny = LINE.along(u)
    return np.c_[x + out * nx, y + out * ny, h]
