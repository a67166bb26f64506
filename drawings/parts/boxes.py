"""A box rail whose lid can be taken off, so that its inside shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from engine.shapes import Curve, block, steps
from engine.sides import Side
from engine.solid import Body, Label


@dataclass(frozen=True)
class BoxRails:
    """Where the rails run: y outwards, z of their middle and their height along x; wide: mm."""

    x0: float
    x1: float
    y: Curve
    z: Curve
    height: Curve
    wide: float = 76

    def draw(self, b: Body, side: Side, stretches: Sequence[tuple[float, float, Label]]) -> None:
        """Walls and bottom as part "frame", the lid as "frametop"; stretches: x from, to, label."""
        half = self.wide / 2

        def trough(U: Any, V: Any) -> tuple[Any, Any, Any]:
            k = np.round(V / 100) % 4
            return (
                U,
                side.s * (self.y(U) + np.where((k == 1) | (k == 2), -half, half)),
                self.z(U) + np.where((k == 0) | (k == 1), 0.5, -0.5) * self.height(U),
            )

        grid = steps(self.x0, self.x1, 24)
        walls = [(label, block(a, 90, c, 410)) for a, c, label in stretches]
        b.sheet("frame", trough, grid, [100, 200, 300, 400], walls, sharp=True)
        b.sheet("frametop", trough, grid, [0, 100], [(label, block(a, -10, c, 110)) for a, c, label in stretches])
        for x, (_, _, label) in ((self.x0, stretches[0]), (self.x1, stretches[-1])):
            y, z, h = float(self.y(x)), float(self.z(x)), float(self.height(x)) / 2
            b.plate("frame", "yz", x, [(label, block(side.s * (y - half), z - h, side.s * (y + half), z + h))])

    def inside(self, b: Body, side: Side, x0: float, x1: float, label: Label, *, wall: float = 12) -> None:
        """The bottom of the box seen from within and the cut edges of its walls, as part "frameinside"."""
        w = self.wide / 2 - wall

        def bottom(U: Any, V: Any) -> tuple[Any, Any, Any]:
            return U, side.s * (self.y(U) + V), self.z(U) - self.height(U) / 2 + 5

        def rim(U: Any, V: Any) -> tuple[Any, Any, Any]:
            return U, side.s * (self.y(U) + V), self.z(U) + self.height(U) / 2 - 3

        b.sheet("frameinside", bottom, steps(x0, x1, 24), [-w, w], label)
        for edge in (-w - wall, w):
            b.sheet("frameinside", rim, steps(x0, x1, 24), [edge, edge + wall], side.label("boxwall", None, "part"))

    def across(self, b: Body, side: Side, x: float, z0: float, z1: float, label: Label, *, wide: float = 80) -> None:
        """Half of a cross piece, from the middle of the vehicle to the rail of one side."""
        b.prism("frame", "xy", side.flat(x - wide / 2, 0, x + wide / 2, float(self.y(x)) - self.wide / 2), z0, z1, label)
