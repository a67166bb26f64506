"""Shapes in the plane, in millimetres: what sheets are painted with and what prisms and sweeps are made of."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from shapely.geometry import Point, Polygon
from shapely.geometry import box as _box

Floats = NDArray[np.float64]
Shape = Any
Curve = Callable[[Any], Any]


def curve(at: Sequence[float], values: Sequence[float]) -> Curve:
    """A smooth curve through points, without overshoot; constant beyond its ends."""
    through = PchipInterpolator(np.asarray(at, float), np.asarray(values, float))
    return lambda t: through(np.clip(t, at[0], at[-1]))


def steps(a: float, b: float, step: float = 60) -> Floats:
    """Grid lines from a to b, at most `step` apart."""
    return np.linspace(a, b, max(2, int(np.ceil(abs(b - a) / step)) + 1))


def shape(*points: tuple[float, float], r: float = 0) -> Shape:
    """Polygon with its corners rounded to radius r."""
    polygon = Polygon(points)
    return rounded(polygon, r) if r else polygon


def rounded(polygon: Shape, r: float) -> Shape:
    """The polygon with both its outward and its inward corners rounded to radius r."""
    return polygon.buffer(-r, quad_segs=12).buffer(2 * r, quad_segs=12).buffer(-r, quad_segs=12)


def disc(x: float, y: float, r: float) -> Shape:
    """A filled circle."""
    return Point(x, y).buffer(r, quad_segs=32)


def block(x0: float, y0: float, x1: float, y1: float, r: float = 0) -> Shape:
    """A rectangle, its corners rounded to radius r; the corners may be given in any order."""
    box = _box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    return rounded(box, r) if r else box


def mirrored(polygon: Shape, s: int) -> Shape:
    """The polygon as it stands (s = 1) or with its second coordinate turned over (s = -1)."""
    from shapely.affinity import scale

    return polygon if s > 0 else scale(polygon, 1, -1, origin=(0, 0))


def soft(points: Sequence[tuple[float, float]] | Floats, rounds: int = 2) -> Floats:
    """A polyline made smooth by cutting its corners; its ends stay."""
    p = np.asarray(points, float)
    for _ in range(rounds):
        cut = np.stack([0.75 * p[:-1] + 0.25 * p[1:], 0.25 * p[:-1] + 0.75 * p[1:]], 1).reshape(-1, p.shape[1])
        p = np.vstack([p[:1], cut, p[-1:]])
    return p


def bar(width: float, height: float, r: float = 8, n: int = 3) -> list[tuple[float, float]]:
    """The outline of a bar for sweeps: a rounded rectangle about its centre, (lateral, vertical)."""
    quarter = np.linspace(0, np.pi / 2, n + 1)
    points: list[tuple[float, float]] = []
    for k, (sx, sz) in enumerate([(1, 1), (-1, 1), (-1, -1), (1, -1)]):
        turn = quarter + k * np.pi / 2
        points += list(zip(sx * (width / 2 - r) + r * np.cos(turn), sz * (height / 2 - r) + r * np.sin(turn), strict=True))
    return points


def arc(d: Any, r: float) -> Any:
    """How far a quarter round of radius r has fallen away, d before its end; 0 outside it."""
    return r - np.sqrt(np.maximum(0, r * r - np.clip(d, 0, r) ** 2))
