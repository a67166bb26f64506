"""Cab fittings: seat feet, steering wheel, pedals, gear lever; context only."""

from __future__ import annotations

import numpy as np
from engine.shapes import bar, block, disc
from engine.solid import Body, Label


def _part(name: str) -> Label:
    return Label(name, None, "part")


def seat_feet(b: Body, places: list[tuple[float, float]], z: float) -> None:
    """The bolted feet of a seat frame on the floor."""
    for k, (x, y) in enumerate(places):
        b.prism("feet", "xy", block(x - 44, y - 22, x + 44, y + 22, 8), z, z + 12, _part(f"foot{k}"))
        b.plate("feet", "xy", z + 13, [(Label(f"footbolt{k}", None, "well"), disc(x, y, 11))])


def steering(b: Body, x: float, y: float, z: float, *, r: float = 205, foot: tuple[float, float] = (600, 700)) -> None:
    """A wheel and its column; (x, z) the wheel's middle, foot: where the column meets the toe board (x, z)."""
    dx, dz = foot[0] - x, foot[1] - z
    n = np.array([dx, 0, dz]) / np.hypot(dx, dz)
    up = np.array([-n[2], 0, n[0]])
    a = np.linspace(0, 2 * np.pi, 73)
    ring = np.array([x, y, z]) + r * (np.cos(a)[:, None] * np.array([0, 1, 0]) + np.sin(a)[:, None] * up)
    q = np.linspace(0, 2 * np.pi, 25)[:-1]
    tangent = np.gradient(ring, axis=0)
    tangent /= np.sqrt((tangent**2).sum(1, keepdims=True))
    out = np.cross(tangent, np.broadcast_to(n, ring.shape))
    tube = ring[:, None] + 13 * (np.cos(q)[None, :, None] * out[:, None] + np.sin(q)[None, :, None] * n)
    b.sheet(
        "steer",
        lambda U, V: tuple(tube[U.astype(int), V.astype(int) % 24, k] for k in range(3)),
        np.arange(73),
        np.arange(25),
        _part("wheelring"),
    )
    for angle in (0.1, np.pi - 0.1, -np.pi / 2):
        end = np.array([x, y, z]) + r * (np.cos(angle) * np.array([0, 1, 0]) + np.sin(angle) * up)
        b.sweep("steer", np.linspace([x, y, z], end, 3), bar(22, 14, 4), _part("spoke"), upright=False)
    b.sweep("steer", np.linspace([x, y, z], [foot[0], y, foot[1]], 6), bar(44, 44, 20), _part("column"), upright=False)


def pedals(b: Body, x: float, z: float, places: tuple[float, ...] = (470, 330)) -> None:
    """Two hanging pads and an accelerator to their right."""
    for y in places:
        b.plate("pedal", "yz", x, [(_part(f"pedal{y:.0f}"), block(y - 42, z, y + 42, z + 62, 12))])
        b.plate("pedal", "yz", x + 6, [(_part(f"arm{y:.0f}"), block(y - 9, z + 62, y + 9, z + 230))])
    b.plate("pedal", "yz", x, [(_part("accelerator"), block(175, z - 50, 225, z + 90, 14))])


def lever(b: Body, x: float, z: float) -> None:
    """A gear lever on the tunnel with its boot and knob."""
    b.turn(
        "lever",
        (x, 0, z),
        [(-20, 110), (0, 105), (40, 50), (70, 24), (70, 12), (330, 9), (330, 0)],
        _part("lever"),
        n=40,
        axis="z",
    )
    b.turn(
        "lever",
        (x, 0, z + 330),
        [(24 - 24 * np.cos(q), 26 * np.sin(q)) for q in np.linspace(0, np.pi, 17)],
        _part("knob"),
        n=40,
        axis="z",
    )
