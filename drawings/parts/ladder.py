"""A ladder frame: two rails that carry zones along their length, cross pieces, brackets and hangers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from engine.shapes import Curve, block, rounded, shape, steps
from engine.sides import Side
from engine.solid import Body, Label


@dataclass(frozen=True)
class Rails:
    """Where the rails run: y outwards, z and height of the web along x; wide: of the flanges, mm."""

    x0: float
    x1: float
    y: Curve
    z: Curve
    height: Curve
    wide: float = 64

    def draw(
        self, b: Body, side: Side, stretches: Sequence[tuple[float, float, Label]], top: Sequence[tuple[float, float, Label]] = ()
    ) -> None:
        """The rail of one side. stretches: x from, to, label of all four faces; top: of the upper face alone."""
        half = self.wide / 2

        def rail(U: Any, V: Any) -> tuple[Any, Any, Any]:
            k = np.round(V / 100) % 4
            return (
                U,
                side.s * (self.y(U) + np.where((k == 1) | (k == 2), half, -half)),
                self.z(U) + np.where(k >= 2, 0.5, -0.5) * self.height(U),
            )

        paint = [(label, block(a, -10, c, 410)) for a, c, label in stretches] + [
            (label, block(a, 200, c, 300)) for a, c, label in top
        ]
        b.sheet("frame", rail, steps(self.x0, self.x1, 30), [0, 100, 200, 300, 400], paint, sharp=True)
        for x, (_, _, label) in ((self.x0, stretches[0]), (self.x1, stretches[-1])):
            y, z, h = float(self.y(x)), float(self.z(x)), float(self.height(x)) / 2
            b.plate("frame", "yz", x, [(label, block(side.s * (y - half), z - h, side.s * (y + half), z + h))])

    def cross(self, b: Body, x: float, z: float, label: Label, *, wide: float = 68, tall: float = 80, flare: float = 26) -> None:
        """A cross piece between the rails, flared where it meets them."""
        w, k = float(self.y(x)) - self.wide / 2, wide / 2
        half = [(k + flare, w), (k + flare, w - 36), (k, w - 36 - 2 * flare)]
        outline = [(x + px, py) for px, py in half] + [(x + px, -py) for px, py in half[::-1]]
        outline += [(x - px, -py) for px, py in half] + [(x - px, py) for px, py in half[::-1]]
        b.prism("frame", "xy", rounded(shape(*outline), 12), z - tall / 2, z + tall / 2, label)

    def outrigger(
        self,
        b: Body,
        side: Side,
        x: float,
        reach: float,
        z: float,
        label: Label,
        *,
        root: float = 95,
        tip: float = 62,
        tall: float = 28,
    ) -> None:
        """A bracket from the rail outwards to y = reach, which carries a cab mount."""
        y = float(self.y(x)) + self.wide / 2
        polygon = shape(*side.points((x - root, y), (x + root, y), (x + tip, reach), (x - tip, reach)))
        b.prism("frame", "xy", rounded(polygon, 12), z, z + tall, label)

    def hanger(self, b: Body, side: Side, points: Sequence[tuple[float, float]], y0: float, y1: float, label: Label) -> None:
        """A spring hanger: a plate outline in side view (x, z), between y0 and y1 outwards, with its pin."""
        polygon = shape(*points, r=14)
        b.prism("frame", "xz", polygon, side.s * y0, side.s * y1, label)
        x = sum(p[0] for p in points) / len(points)
        low = min(p[1] for p in points)
        b.turn(
            "frame",
            (x, side.s * y0, low + 38),
            [(-side.s * 8, 0), (-side.s * 8, 17), (side.s * (y1 - y0 + 8), 17), (side.s * (y1 - y0 + 8), 0)],
            label,
            n=40,
        )
