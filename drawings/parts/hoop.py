"""A hoop of tube across the vehicle: roll bar or top bow; context only."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.solid import Body, Label


def hoop(
    b: Body, part: str, x: float, half: float, low: float, high: float, label: Label, *, r: float = 25, bend: float = 150
) -> None:
    """An upright hoop at x whose legs stand at y = -half and half; low, high: z of its feet and of its middle line on top."""
    t = np.linspace(0, np.pi / 2, 14)
    leg = np.c_[0 * t - half, np.linspace(low, high - bend, 14)][:-1]
    turn = np.c_[bend * (1 - np.cos(t)) - half, high - bend + bend * np.sin(t)]
    line = np.vstack([leg, turn])
    line = np.vstack([line, (line * [-1, 1])[::-1]])
    way = np.gradient(line, axis=0)
    way /= np.sqrt((way * way).sum(1, keepdims=True))
    q = np.linspace(0, 2 * np.pi, 19)

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        i, a = U.astype(int), q[V.astype(int)]
        return x + r * np.sin(a), line[i, 0] - way[i, 1] * r * np.cos(a), line[i, 1] + way[i, 0] * r * np.cos(a)

    b.sheet(part, put, np.arange(len(line)), np.arange(19), label)
