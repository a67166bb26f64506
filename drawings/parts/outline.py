"""The outline of a body in plan, run along from the middle of its nose: what an outer skin is carried on.

A skin made on one such line has no seams at the corners of the nose: front and side are one surface. Its first
parameter u is x along the side and runs on round the corner to the middle of the nose, which lies at `middle`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from engine.shapes import Curve, Floats, Shape

Along = tuple[Any, Any, Any, Any]


@dataclass(frozen=True)
class PlanLine:
    """u, x, y, normal x, normal y of points along the outline on the left; `side(x)` is y beyond x = `end`."""

    points: Floats
    end: float
    side: Curve

    @property
    def middle(self) -> float:
        """u of the middle of the nose."""
        return float(self.points[0, 0])

    def along(self, u: Any) -> Along:
        """x, y and outward normal at u."""
        u = np.asarray(u, float)
        x, y, nx, ny = (np.interp(u, self.points[:, 0], self.points[:, k]) for k in (1, 2, 3, 4))
        far = u > self.end
        return np.where(far, u, x), np.where(far, self.side(u), y), np.where(far, 0, nx), np.where(far, 1, ny)


def plan_line(outline: Shape, side: Curve, *, corner: float, end: float) -> PlanLine:
    """The left half of a convex outline in plan, its corners rounded to radius `corner`, from the nose back to x = end."""
    ring = outline.buffer(-corner, quad_segs=48).buffer(corner, quad_segs=48).exterior.segmentize(6)
    p = np.asarray(ring.coords)[:-1]
    p = np.roll(p, -int(np.argmin(np.abs(p[:, 1]) + 1e4 * (p[:, 0] > end))), 0)
    p = p if p[5, 1] > p[0, 1] else np.roll(p[::-1], 1, 0)
    p = np.vstack([[float(p[0, 0]), 0], p[(p[:, 1] > 0) & (p[:, 0] < end + 60)]])
    s = np.r_[0, np.cumsum(np.sqrt((np.diff(p, axis=0) ** 2).sum(1)))]
    even = np.linspace(0, s[-1], 700)
    p = np.c_[np.interp(even, s, p[:, 0]), np.interp(even, s, p[:, 1])]
    t = np.gradient(p, axis=0)
    n = np.c_[-t[:, 1], t[:, 0]] / np.sqrt((t * t).sum(1, keepdims=True))
    return PlanLine(np.c_[even - even[-1] + p[-1, 0], p, n], end, side)
