"""Leaf springs."""

from __future__ import annotations

import numpy as np
from engine.shapes import bar
from engine.sides import Side
from engine.solid import Body


def leaf_spring(
    b: Body,
    side: Side,
    name: str,
    x0: float,
    x1: float,
    y: float,
    z: float,
    *,
    rise: float = 38,
    leaves: int = 4,
    wide: float = 62,
) -> None:
    """A pack of leaves from eye to eye; z: the main leaf at its middle, rise: its ends above that; y outwards."""
    middle, half = (x0 + x1) / 2, (x1 - x0) / 2
    for k in range(leaves):
        x = np.linspace(x0 + half * 0.2 * k, x1 - half * 0.2 * k, 28)
        path = np.c_[x, 0 * x + side.s * y, z + ((x - middle) / half) ** 2 * rise - 13 * k]
        b.sweep("running", path, bar(wide, 11, 4), side.label(f"{name}leaf", None, "part"))
    for x in (x0, x1):
        b.turn(
            "running",
            (x, side.s * (y - wide / 2), z + rise),
            [(0, 0), (0, 24), (side.s * wide, 24), (side.s * wide, 0)],
            side.label(f"{name}eye{x:.0f}", None, "part"),
            n=40,
        )
    for x in (middle - 55, middle + 55):
        b.prism(
            "running",
            "xy",
            side.flat(x - 9, y - wide / 2 - 16, x + 9, y + wide / 2 + 16),
            z - 13 * leaves - 12,
            z + 16,
            side.label(f"{name}bolt{x:.0f}", None, "part"),
        )
