"""Axles and drive shaft: context under the vehicle."""

from __future__ import annotations

import numpy as np
from engine.shapes import bar, soft
from engine.solid import Body, Label


def live_axle(b: Body, x: float, z: float, reach: float, *, head: float = 0) -> None:
    """A driven axle with its gear housing at y = head; reach: half length of the tubes."""
    left = [
        (head - 170, 46),
        (head - 110, 60),
        (head - 80, 150),
        (head, 168),
        (head + 60, 168),
        (head + 140, 150),
        (head + 170, 60),
        (head + 230, 46),
    ]
    b.turn("running", (x, 0, z), soft([(-reach, 44), *left, (reach, 44)], 3), Label("axle", None, "part"), n=90)
    b.turn("running", (x - 172, head, z), [(0, 0), (0, 60), (60, 78)], Label("pinion", None, "part"), n=60, axis="x")


def beam_axle(b: Body, x: float, z: float, reach: float) -> None:
    """A forged front axle beam with its dip under the engine; z at the ends, which reach out to the king pins."""
    y = np.linspace(-reach, reach, 61)
    dip = 70 * np.clip((reach - 90 - np.abs(y)) / 120, 0, 1) ** 2 * (3 - 2 * np.clip((reach - 90 - np.abs(y)) / 120, 0, 1))
    b.sweep("running", np.c_[0 * y + x, y, z - dip], bar(80, 74, 14), Label("beam", None, "part"))


def drive_shaft(b: Body, x0: float, x1: float, y: float, z0: float, z1: float, r: float = 42) -> None:
    """A tube from the gearbox to the axle, with a joint at either end."""
    t = np.linspace(x0 + 60, x1 - 60, 12)
    q = np.linspace(0, 2 * np.pi, 25)[:-1]
    ring = np.c_[r * np.cos(q), r * np.sin(q)]
    b.sweep("running", np.c_[t, 0 * t + y, z0 + (z1 - z0) * (t - x0) / (x1 - x0)], ring, Label("shaft", None, "part"))
    for x, z in ((x0, z0), (x1 - 70, z1)):
        b.turn("running", (x, y, z), [(0, 0), (0, 46), (70, 46), (70, 0)], Label(f"joint{x:.0f}", None, "part"), n=40, axis="x")
