"""The outline of a body in plan from the middle of its nose to the middle of its tail: what a skin without seams is carried on.

Its parameter u is x along the side and runs on round the corners, at the front to `nose`, at the back to `tail`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from engine.shapes import Floats, Shape, block

FAR = 9999.0


@dataclass(frozen=True)
class Girth:
    """u, x, y, normal x, normal y of points along the left half of the outline."""

    points: Floats

    @property
    def nose(self) -> float:
        """u of the middle of the nose."""
        return float(self.points[0, 0])

    @property
    def tail(self) -> float:
        """u of the middle of the tail."""
        return float(self.points[-1, 0])

    def along(self, u: Any) -> tuple[Any, Any, Any, Any]:
        """x, y and outward normal at u."""
        u = np.asarray(u, float)
        x, y, nx, ny = (np.interp(u, self.points[:, 0], self.points[:, k]) for k in (1, 2, 3, 4))
        return x, y, nx, ny


def girth(outline: Shape, *, front: float, back: float, x0: float, x1: float) -> Girth:
    """The left half of a convex outline, its corners rounded to the radii `front` and `back`; u = x between x0 and x1."""
    middle = (x0 + x1) / 2
    round_front, round_back = (outline.buffer(-r, quad_segs=64).buffer(r, quad_segs=64) for r in (front, back))
    half = (round_front & block(-FAR, -FAR, middle, FAR)) | (round_back & block(middle, -FAR, FAR, FAR))
    p = np.asarray(half.exterior.segmentize(5).coords)[:-1]
    p = p[p[:, 1] > 1]
    p = np.roll(p, -int(np.argmin(p[:, 1] + 1e3 * (p[:, 0] > middle))), 0)
    p = p if p[5, 1] > p[0, 1] else np.roll(p[::-1], 1, 0)
    p = np.vstack([[p[0, 0], 0], p, [p[-1, 0], 0]])
    s = np.r_[0, np.cumsum(np.sqrt((np.diff(p, axis=0) ** 2).sum(1)))]
    even = np.linspace(0, s[-1], 2400)
    p = np.c_[np.interp(even, s, p[:, 0]), np.interp(even, s, p[:, 1])]
    t = np.gradient(p, axis=0)
    n = np.c_[-t[:, 1], t[:, 0]] / np.sqrt((t * t).sum(1, keepdims=True))
    first, last = int(np.argmax(p[:, 0] >= x0)), len(p) - 1 - int(np.argmax(p[::-1, 0] <= x1))
    u = p[:, 0].copy()
    u[:first] = p[first, 0] - (even[first] - even[:first])
    u[last:] = p[last, 0] + (even[last:] - even[last])
    return Girth(np.c_[u, p, n])
