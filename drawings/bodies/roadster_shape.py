"""The roadster's surfaces: one skin from nose to tail along the plan outline, one height field on top. Millimetres."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import Shape, block, curve, disc, mirrored, shape, steps
from engine.sides import Side
from engine.solid import Body, Label
from parts.loop import loop_line

CODE, ALL = "sr", 9999
NOSE, TAIL, AXLE = -640, 3060, 2200
HOOD_END, FENDER_END, DOOR_END, COCKPIT, DECK, LID = 560, 696, 1440, 850, 1640, 1930
SILL, STEP, FLOOR, TRUNK = 184, 352, 266, 500
WIDEST, EDGE, INNER, MIDDLE_OF_SILL = 748, 612, 600, 668
TYRE = 312

_mid = curve(
    [-640, -560, -400, -200, 200, HOOD_END, 800, COCKPIT, DECK, 1900, 2400, 2800, TAIL],
    [604, 640, 700, 752, 812, 850, 864, 864, 760, 774, 758, 694, 628],
)
_crest = curve(
    [-640, -540, -300, 0, 400, 800, 1250, 1600, 1900, 2250, 2600, TAIL],
    [706, 724, 776, 800, 796, 778, 766, 772, 800, 810, 790, 712],
)
half_width = curve([170, 240, 340, 480, 600, 680, 740, 800], [700, 719, 735, 745, WIDEST, 747, 738, 718])
roll = curve([-900, -560, -300, 300, 760, 1400, 1900, 2500, 2900, 3600], [84, 84, 100, 92, 54, 54, 84, 84, 70, 70])


def crown(x: Any, y: Any) -> Any:
    """The top of everything: hood, scuttle, deck and lid in the middle, the crests of the fenders beside them."""
    t = np.clip((np.abs(y) - 360) / 210, 0, 1)
    middle = _mid(x) - 26 * (np.minimum(np.abs(y), 570) / 420) ** 2
    return middle + (_crest(x) - middle) * t * t * (3 - 2 * t)


def _outline() -> Shape:
    """The plan outline at its widest, its corners still sharp."""
    y, x = np.linspace(-1000, 1000, 200), np.linspace(-1000, 3600, 200)
    half = WIDEST - 74 * np.abs((x - 1250) / 1900) ** 3.2
    ends = shape(*[(NOSE + 90 * (q / 700) ** 2, q) for q in y], *[(TAIL - 70 * (q / 700) ** 2, q) for q in y[::-1]])
    return ends & shape(*zip(x, half, strict=True), *zip(x[::-1], -half[::-1], strict=True))


LINE = loop_line(_outline(), corner=170, front=-280, back=2720)


def inset(z: Any) -> Any:
    """How far the skin lies inside the plan outline at its widest."""
    return WIDEST - half_width(z)


def brow(u: Any) -> tuple[Any, Any, Any]:
    """Where the roll into the top ends: x, y and the height at which it begins."""
    x, y, nx, ny = LINE.along(u)
    r = roll(u)
    d = inset(_crest(x) - r) + r
    return x - nx * d, y - ny * d, crown(x - nx * d, y - ny * d) - r


def skin(u: Any, v: Any) -> tuple[Any, Any, Any]:
    """The outer skin on the left: u along the outline, v = height, and past the brow arc length over the roll."""
    x, y, nx, ny = LINE.along(u)
    r, start = roll(u), brow(u)[2]
    turn = np.clip((v - start) / r, 0, np.pi / 2)
    d = inset(np.minimum(v, start)) + r * (1 - np.cos(turn))
    return x - nx * d, y - ny * d, np.minimum(v, start) + r * np.sin(turn)


def side_y(x: Any, z: Any) -> Any:
    """Half width of the skin at x, z along the flank."""
    return skin(np.asarray(x, float), np.asarray(z, float))[1]


def over(u: Any) -> Any:
    """v at the very end of the roll."""
    return brow(u)[2] + roll(u) * np.pi / 2


def beyond(y: float, *, tail: bool = False) -> float:
    """u on the nose, or on the tail, where the brow passes y."""
    u = np.linspace(LINE.nose, LINE.nose + 620, 400) if not tail else np.linspace(LINE.tail, LINE.tail - 620, 400)
    return float(np.interp(y, brow(u)[1], u))


FRONT_ARCH = disc(0, TYRE, 348)
REAR_ARCH = disc(AXLE, TYRE - 6, 352)


def skin_sheet(
    b: Body,
    part: str,
    side: Side,
    paint: list[tuple[Label | None, Shape]],
    box: tuple[float, float, float, float],
    step: float = 14,
) -> None:
    """Paint on the skin of one side; box: u, v from, u, v to."""

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        x, y, z = skin(U, V)
        return x, side.s * y, z

    b.sheet(part, put, steps(box[0], box[2], step), steps(box[1], box[3], 12), paint, blend=True)


def top_sheet(b: Body, part: str, side: Side, paint: list[tuple[Label | None, Shape]], step: float = 14, lift: float = 0) -> None:
    """Paint on the height field of one side; polygons in plan (x, y outwards), cut at the middle and at the brow."""
    inside = BROW & block(-ALL, 0, ALL, ALL)
    b.plate(
        part,
        "xy",
        lambda U, V: crown(U, V) + lift,
        [(label, mirrored(p & inside, side.s)) for label, p in paint],
        step=step,
        blend=True,
    )


_u = np.linspace(LINE.nose, LINE.tail, 900)
BROW = shape(*zip(*brow(_u)[:2], strict=True), (float(brow(_u)[0][-1]), -4), (float(brow(_u)[0][0]), -4)).buffer(3)


def bead_on_top(b: Body, side: Side, seam: Any, x0: float, x1: float, half: float, label: Label) -> None:
    """A bead along a seam y(x) on top, 3 mm proud."""
    b.sheet(
        "bead",
        lambda U, V: (U, side.s * (seam(U) + V), crown(U, seam(U) + V) + 3),
        steps(x0, x1, 10),
        [-half, 0, half],
        label,
        blend=True,
    )


def bead_on_face(b: Body, side: Side, at: float, low: float, half: float, label: Label) -> None:
    """A bead down the nose or the tail from the brow at u = at to v = low, straight ahead in plan, 3 mm proud."""
    way, y_brow = (1 if at < 0 else -1), float(brow(at)[1])

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        v = low + U * (over(at + V) - low)
        u = at + V + way * (y_brow - skin(at + 0 * V, v)[1])
        x, y, z = skin(u, v)
        nx, ny = LINE.along(u)[2:]
        turn = np.clip((v - brow(u)[2]) / roll(u), 0, np.pi / 2)
        return x + 3 * nx * np.cos(turn), side.s * (y + 3 * ny * np.cos(turn)), z + 3 * np.sin(turn)

    b.sheet("bead", put, np.linspace(0, 1, 60), [-half, 0, half], label, blend=True)
