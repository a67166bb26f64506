"""Leaf springs."""

from __future__ import annotations

import numpy as np
from engine.shapes import bar, rounded
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
    _tie(b, side, name, middle, y, z - 13 * leaves + 2, z + 6, wide)


def _tie(b: Body, side: Side, name: str, x: float, y: float, low: float, high: float, wide: float) -> None:
    """What holds a pack of leaves to the axle: two bolts bent over its top, a plate below, its nuts."""
    half, r, reach = wide / 2 + 9, 8, 46
    plate = rounded(side.flat(x - reach - 24, y - half - 20, x + reach + 24, y + half + 20), 14)
    b.prism("running", "xy", plate, low - 12, low, side.label(f"{name}plate", None, "part"))
    for k, at in enumerate((x - reach, x + reach)):
        bolt = side.label(f"{name}bolt{k}", None, "part")
        bend = np.linspace(0, np.pi, 13)
        over = np.c_[0 * bend + at, side.s * (y - half * np.cos(bend)), high + 12 * np.sin(bend) ** 0.5]
        b.sweep("running", over, bar(2 * r, 2 * r, r - 1), bolt)
        for q in (y - half, y + half):
            b.turn("running", (at, side.s * q, low), [(0, r), (high - low, r)], bolt, n=24, axis="z")
            nut = side.label(f"{name}nut{k}{q:.0f}", None, "part")
            b.turn("running", (at, side.s * q, low - 12), [(0, 15), (-14, 15), (-14, 0)], nut, n=24, axis="z")
