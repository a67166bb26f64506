"""Engine, radiator and gearbox: context in the engine bay and underneath."""

from __future__ import annotations

import numpy as np
from engine.shapes import bar, block, shape
from engine.solid import Body, Label


def _part(name: str) -> Label:
    return Label(name, None, "part")


def inline_engine(b: Body, x0: float, x1: float, z0: float, z1: float, *, wide: float = 330) -> None:
    """An in-line engine with rocker cover, air cleaner, manifold, sump, fan and pulley between x0 and x1."""
    half, middle = wide / 2, (x0 + x1) / 2
    b.prism("engine", "xy", block(x0, -half, x1, half, 40), z0 + 130, z1, _part("block"))
    b.prism("engine", "xy", block(x0 + 30, -half + 70, x1 - 20, half - 70, 50), z1, z1 + 74, _part("rockercover"))
    for x in np.linspace(x0 + 110, x1 - 100, 3):
        b.turn("engine", (float(x), 0, z1 + 74), [(0, 22), (12, 18), (12, 0)], _part(f"nut{x:.0f}"), n=30, axis="z")
    b.prism("running", "xy", block(x0 + 60, -half + 30, x1 - 30, half - 30, 45), z0, z0 + 132, _part("sump"))
    b.turn(
        "engine",
        (middle + 20, -half - 6, 0),
        [
            (z1 + 20, 60),
            (z1 + 70, 62),
            (z1 + 78, 168),
            (z1 + 160, 168),
            (z1 + 170, 150),
            (z1 + 170, 26),
            (z1 + 184, 18),
            (z1 + 184, 0),
        ],
        _part("aircleaner"),
        axis="z",
    )
    b.sweep("engine", [(x, -half - 40, z1 - 60) for x in np.linspace(x0 + 60, x1 - 60, 8)], bar(70, 60, 20), _part("manifold"))
    b.turn("engine", (x0, 0, z0 + 330), [(-40, 0), (-40, 78), (0, 78)], _part("pulley"), axis="x")
    b.turn("engine", (x0 - 70, 0, z0 + 360), [(0, 0), (0, 40), (22, 40)], _part("fanhub"), axis="x")
    for k in range(4):
        a = np.pi / 4 + k * np.pi / 2
        b.plate(
            "engine",
            "yz",
            x0 - 60,
            [
                (
                    _part(f"fan{k}"),
                    shape(
                        *[
                            (np.cos(a + d) * r, z0 + 360 + np.sin(a + d) * r)
                            for d, r in ((-0.6, 40), (-0.22, 190), (0.22, 190), (0.6, 40))
                        ],
                        r=8,
                    ),
                )
            ],
        )


def radiator(b: Body, x: float, half: float, z0: float, z1: float) -> None:
    """A radiator across the vehicle at x, with header tank, cap and top hose."""
    b.prism("engine", "xy", block(x, -half, x + 56, half), z0, z1 - 70, Label("core", None, "part"))
    b.prism("engine", "xy", block(x - 8, -half, x + 64, half, 16), z1 - 70, z1, _part("header"))
    b.turn("engine", (x + 28, half * 0.55, z1), [(0, 34), (14, 34), (20, 26), (20, 0)], _part("cap"), n=40, axis="z")


def gearbox(b: Body, x0: float, x1: float, z: float) -> None:
    """A gearbox behind the engine, tapering rearwards."""
    points = [(x0, 165), (x0 + 190, 120), (x1 - 60, 85), (x1, 60)]
    outline = shape(*points, *[(x, -y) for x, y in points[::-1]], r=22)
    b.prism("running", "xy", outline, z - 75, z + 75, _part("gearbox"))
    b.prism("running", "xy", block(x0 - 24, -185, x0 + 10, 185, 12), z - 120, z + 110, _part("bell"))
