"""The open tub's surfaces: tub skin with its rear corner, tapered hood, fender profile. Millimetres."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import Floats, arc, block, curve, shape, soft, steps
from engine.sides import Side
from engine.solid import Body, Paint

CODE, ALL = "ot", 9999
NOSE, WALL, DASH, DOOR_BACK, TAIL, AXLE = -560, 475, 665, 1335, 2900, 2240
SILL, FLOOR, CARGO, DOOR_TOP, RAIL, COWL = 500, 625, 700, 1010, 1060, 1110
CORNER, COWL_ROLL, HOOD_ROLL, NOSE_ROLL = 70, 45, 105, 40
FENDER, FENDER_ROLL, GATE = 775, 34, 575

half_width = curve([480, 560, 640, 1000, 1060, 1110], [726, 735, 740, 738, 736, 733])
hood_half = curve([NOSE, 0, WALL], [438, 512, 572])
hood_top = curve([NOSE, -200, WALL], [1048, 1078, 1097])
tub_top = curve([DOOR_BACK, DOOR_BACK + 30, DOOR_BACK + 80, DOOR_BACK + 110], [DOOR_TOP, DOOR_TOP + 8, RAIL - 8, RAIL])

SIDE_END = TAIL - CORNER
TAIL_U = SIDE_END + CORNER * np.pi / 2
MIDDLE = TAIL_U + 740 - CORNER


def skin(u: Any, v: Any) -> tuple[Any, Any, Any]:
    """The tub's skin on the left: u = x along the side, then round the rear corner to the middle of the tail; v = height."""
    turn = np.clip((u - SIDE_END) / CORNER, 0, np.pi / 2)
    beyond = np.maximum(0, u - TAIL_U)
    inset = 740 - half_width(v)
    x = np.minimum(u, SIDE_END) + (CORNER - inset) * np.sin(turn)
    y = 740 - CORNER + (CORNER - inset) * np.cos(turn) - beyond
    return x, y, v


def tail_u(y: float) -> float:
    """The skin's u at distance y from the middle of the tail."""
    return float(MIDDLE - y)


ROLL_FROM, ROLL_TO = 470.0, 470.0 + HOOD_ROLL * np.pi / 2


def hood(u: Any, v: Any) -> tuple[Any, Any, Any]:
    """Hood and its sides on the left: u = x; v from the middle to ROLL_FROM on top, round to ROLL_TO, then mm down the side."""
    e = arc(NOSE + NOSE_ROLL - u, NOSE_ROLL)
    w, top, r = hood_half(u) - e, hood_top(u) - e, HOOD_ROLL - e
    share, turn = np.clip(v / ROLL_FROM, 0, 1), np.clip((v - ROLL_FROM) / HOOD_ROLL, 0, np.pi / 2)
    y = share * (w - r) + r * np.sin(turn)
    return u, y, top - 10 * share**2 - r * (1 - np.cos(turn)) - np.maximum(0, v - ROLL_TO)


def hood_v(x: Any, z: Any) -> Any:
    """The v of the hood's side at height z."""
    return ROLL_TO + hood_top(x) - 10 - HOOD_ROLL - z


def face() -> Any:
    """Outline of the nose, where the hood's front round ends, in (y, z)."""
    e, x = NOSE_ROLL, float(NOSE)
    y, z = hood(x, np.linspace(0, ROLL_TO, 60))[1:]
    half = [*zip(y.tolist(), z.tolist(), strict=True), (float(hood_half(x)) - e, 610.0)]
    return shape(*half, *[(-q, h) for q, h in half[::-1]])


def fender_line() -> Floats:
    """The fender's top in side view, from the cowl forwards and down: x, z."""
    flat = [(WALL, 908), (-60, 896), (-300, 890), (-470, 884), (-585, 830), (-612, 735), (-614, 650)]
    p = soft(flat, 4)
    s = np.r_[0, np.cumsum(np.sqrt((np.diff(p, axis=0) ** 2).sum(1)))]
    even = np.linspace(0, s[-1], 220)
    line: Floats = np.c_[np.interp(even, s, p[:, 0]), np.interp(even, s, p[:, 1])]
    return line


LINE = fender_line()
_way = np.gradient(LINE, axis=0)
_way /= np.sqrt((_way * _way).sum(1, keepdims=True))
INWARD = np.c_[-_way[:, 1], _way[:, 0]]


def fender_z(x: Any) -> Any:
    """Height of the fender's top at x."""
    return np.interp(x, LINE[::-1, 0], LINE[::-1, 1])


FRONT_ARCH = shape((-900, 200), (-900, 651), (-572, 651), (-430, 806), (262, 822), (398, 480), (398, 200), r=50)
REAR_ARCH = shape((AXLE - 495, 300), (AXLE - 400, 850), (AXLE + 400, 850), (AXLE + 495, 300), r=110)
REAR_ARCH = REAR_ARCH | shape((AXLE - 490, 200), (AXLE - 466, 480), (AXLE + 466, 480), (AXLE + 490, 200))
SWAGE = block(WALL, 962, MIDDLE + 10, 978)


def tub_sheet(b: Body, part: str, side: Side, paint: Paint, box: tuple[float, float, float, float], step: float = 14) -> None:
    """Paint on the tub's skin of one side; box: u, v from, u, v to."""

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        x, y, z = skin(U, V)
        return x, side.s * y, z

    b.sheet(part, put, steps(box[0], box[2], step), steps(box[1], box[3], 30), paint, blend=True)
