"""The outline of a body in plan from the middle of its nose round to the middle of its tail: what a rounded body is carried on.

Like parts.outline, but closed behind as well: u is x along the flank and arc length round the corners at either end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from engine.shapes import Floats, Shape

Along = tuple[Any, Any, Any, Any]


@dataclass(frozen=True)
class LoopLine:
    """u, x, y, normal x, normal y of points along the left half of a closed outline, from nose to tail."""

    points: Floats

    @property
    def nose(self) -> float:
        """u of the middle of the nose."""
        return float(self.points[0, 0])

    @property
    def tail(self) -> float:
        """u of the middle of the tail."""
        return float(self.points[-1, 0])

    def along(self, u: Any) -> Along:
        """x, y and outward normal at u."""
        u = np.asarray(u, float)
        x, y, nx, ny = (np.interp(u, self.points[:, 0], self.points[:, k]) for k in (1, 2, 3, 4))
        return x, y, nx, ny


def loop_line(outline: Shape, *, corner: float, front: float, back: float) -> LoopLine:
    """The left half of a convex outline, corners rounded to radius `corner`; u = x between x = front and x = back."""
    ring = outline.buffer(-corner, quad_segs=48).buffer(corner, quad_segs=48).exterior.segmentize(6)
    p = np.asarray(ring.coords)[:-1]
    p = np.roll(p, -int(np.argmin(np.abs(p[:, 1]) + 1e4 * (p[:, 0] > front))), 0)
    p = p if p[5, 1] > p[0, 1] else np.roll(p[::-1], 1, 0)
    p = p[1:][p[1:, 1] > 1]
    p = np.vstack([[float(p[0, 0]), 0], p, [float(p[-1, 0]), 0]])
    s = np.r_[0, np.cumsum(np.sqrt((np.diff(p, axis=0) ** 2).sum(1)))]
    even = np.linspace(0, s[-1], 1200)
    p = np.c_[np.interp(even, s, p[:, 0]), np.interp(even, s, p[:, 1])]
    t = np.gradient(p, axis=0)
    n = np.c_[-t[:, 1], t[:, 0]] / np.sqrt((t * t).sum(1, keepdims=True))
    first, last = (float(np.interp(x, p[:, 0], even)) for x in (front, back))
    u = np.where(even < first, front - first + even, np.where(even > last, back - last + even, p[:, 0]))
    return LoopLine(np.c_[u, p, n])
