"""The coupe's surfaces: lower body with one shoulder all round, glasshouse set on it, roof. Millimetres."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import Floats, Shape, arc, curve, disc, shape, steps
from engine.sides import Side
from engine.solid import Body, Label
from parts.girth import girth

CODE, ALL = "mc", 9999
NOSE, COWL, DOOR, LOCK, AXLE, TAIL = -735, 560, 646, 1792, 2560, 3540
SILL, STEP, FLOOR, DRIP = 205, 322, 255, 1286
WIDEST, ROUND, HOOD, LID, RADIUS = 806, 42, 585, 590, 305

inset = curve([200, 300, 430, 590, 720, 800, 900], [40, 22, 8, 0, 0, 6, 17])
edge = curve([NOSE, -350, COWL, 1800, 2700, TAIL], [792, 838, 878, 892, 884, 850])
hump = curve([NOSE, -350, COWL, 1200, 2500, 2900, TAIL], [20, 52, 44, 20, 20, 34, 16])
narrowing = curve([NOSE, -350, 2970, TAIL], [30, 0, 0, 44])


def crown(x: Any, y: Any) -> Any:
    """Top of the lower body, one surface: hood and fenders, the ledge below the glass, the deck."""
    return edge(x) + hump(x) * (1 - (y / 745) ** 2)


def _outline() -> Shape:
    """The plan outline at its widest, its corners still sharp."""
    y, x = np.linspace(-1000, 1000, 200), np.linspace(-1500, 4500, 200)
    ends = shape(*[(NOSE + 60 * (q / 800) ** 2, q) for q in y], *[(TAIL - 45 * (q / 800) ** 2, q) for q in y[::-1]])
    half = WIDEST - narrowing(x)
    return ends & shape(*zip(x, half, strict=True), *zip(x[::-1], -half[::-1], strict=True))


LINE = girth(_outline(), front=130, back=110, x0=-500, x1=3300)


def brow(u: Any) -> tuple[Any, Any, Any]:
    """Where the roll into the top ends: x, y (its plan outline) and the height at which it begins."""
    x, y, nx, ny = LINE.along(u)
    d = inset(edge(x) - ROUND) + ROUND
    return x - nx * d, y - ny * d, crown(x - nx * d, y - ny * d) - ROUND


def skin(u: Any, v: Any) -> tuple[Any, Any, Any]:
    """The outer skin on the left: u along the plan outline, v = height, and past the brow arc length over the roll."""
    x, y, nx, ny = LINE.along(u)
    start = brow(u)[2]
    turn = np.clip((v - start) / ROUND, 0, np.pi / 2)
    d = inset(np.minimum(v, start)) + ROUND * (1 - np.cos(turn))
    return x - nx * d, y - ny * d, np.minimum(v, start) + ROUND * np.sin(turn)


def side_y(x: Any, z: Any) -> Any:
    """Half width of the skin at x, z along the side."""
    return skin(np.asarray(x, float), np.asarray(z, float))[1]


def u_of(y: float, *, front: bool) -> float:
    """u on the nose or the tail at which the brow lies at y."""
    u = np.linspace(LINE.nose, -560, 400) if front else np.linspace(LINE.tail, 3360, 400)
    return float(np.interp(y, brow(u)[1], u))


NOSE_U, TAIL_U, HOOD_U, LID_U = LINE.nose, LINE.tail, u_of(HOOD, front=True), u_of(LID, front=False)
FRONT_ARCH, REAR_ARCH = disc(0, RADIUS, 358), disc(AXLE, RADIUS, 350)

# -- glasshouse ----------------------------------------------------------------------------------
BOW, CORNER, REAR_BOW, REAR_CORNER = 96, 62, 120, 96


def glass_half(z: Any) -> Any:
    """Half width of the glasshouse at its widest, at height z: it leans in, the more the higher."""
    return 716 - 0.16 * (z - 900) - 0.00039 * (z - 900) ** 2


def wind(z: Any) -> Any:
    """x of the windshield on the middle line."""
    return 704 + 0.838 * (z - 900) + 0.000272 * (z - 900) ** 2


def back(z: Any) -> Any:
    """x of the rear glass on the middle line."""
    return 2790 - 1.06 * (z - 900) - 0.000194 * (z - 900) ** 2


def wind_x(y: Any, z: Any) -> Any:
    """x of the windshield surface, round its corners to the side."""
    half = glass_half(z)
    return wind(z) + BOW * (y / half) ** 2 + arc(np.abs(y) - (half - CORNER), CORNER)


def back_x(y: Any, z: Any) -> Any:
    """x of the rear glass surface, round its corners to the side."""
    half = glass_half(z)
    return back(z) - REAR_BOW * (y / half) ** 2 - arc(np.abs(y) - (half - REAR_CORNER), REAR_CORNER)


def house_y(x: Any, z: Any) -> Any:
    """Half width of the glasshouse at x, z."""
    x, z = np.broadcast_arrays(np.asarray(x, float), np.asarray(z, float))
    out = np.empty(x.shape)
    for height in np.unique(z):
        at = z == height
        y = np.linspace(0, 1, 400) ** 0.5 * float(glass_half(height))
        front, rear = wind_x(y, height), back_x(y, height)
        out[at] = np.where(x[at] < 1500, np.interp(x[at], front, y), np.interp(-x[at], -rear, y))
    return out


def house_edge(z: Any, *, front: bool, share: float = 0.55) -> Any:
    """x at which side and end surfaces of the glasshouse meet, in the middle of the corner."""
    y = glass_half(z) - share * (CORNER if front else REAR_CORNER)
    return wind_x(y, z) if front else back_x(y, z)


def _roof_ends(y: Any) -> tuple[Any, Any]:
    at = DRIP + 0 * y
    return wind_x(y, at), back_x(y, at)


def _rise(U: Any, V: Any) -> Any:
    return 74 * np.sqrt(np.maximum(0, (1 - np.abs(V) ** 2.6) * (1 - np.abs(U) ** 2.6)))


def roof(U: Any, V: Any) -> tuple[Any, Any, Any]:
    """The roof: U from -1 (front) to 1 (back), V from -1 to 1 across."""
    y = V * glass_half(DRIP)
    front, rear = _roof_ends(y)
    return (rear + front) / 2 + (rear - front) / 2 * U, y, DRIP + _rise(U, V)


def roof_z(x: Any, y: Any) -> Any:
    """Height of the roof at x, y."""
    front, rear = _roof_ends(y)
    return DRIP + _rise((2 * x - front - rear) / (rear - front), y / glass_half(DRIP))


# -- sheets --------------------------------------------------------------------------------------
def skin_sheet(
    b: Body,
    part: str,
    side: Side,
    paint: list[tuple[Label | None, Shape]],
    box: tuple[float, float, float, float],
    step: float = 16,
) -> None:
    """Paint on the lower skin of one side; box: u, v from, u, v to."""

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        x, y, z = skin(U, V)
        return x, side.s * y, z

    b.sheet(part, put, steps(box[0], box[2], step), steps(box[1], box[3], 8), paint, blend=True)


def end_sheet(b: Body, part: str, surface: Any, paint: list[tuple[Label | None, Shape]], low: float, *, bend: float) -> None:
    """Paint, in y and z, on the windshield or rear glass surface."""
    y: Floats = np.unique(np.r_[steps(-720, 720, 24), steps(-720, -480, 6), steps(480, 720, 6)])

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        half = glass_half(V) - 0.55 * bend
        q = np.clip(U, -half, half)
        return surface(q, V), q, V

    b.sheet(part, put, y, steps(low, DRIP, 12), paint, blend=True)


def house_paint(side: Side, label: Label, low: float, *, inner: Any) -> tuple[Label, Shape]:
    """The pillar of one side on an end sheet: outside the line `inner` (z -> y)."""
    z = np.linspace(low, DRIP, 30)
    outer = [(side.s * 760, float(h)) for h in z]
    return label, shape(*outer, *[(side.s * float(inner(h)), float(h)) for h in z[::-1]])
