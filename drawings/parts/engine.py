"""Engine, radiator and gearbox: context in the engine bay and underneath."""

from __future__ import annotations

import numpy as np
from engine.shapes import Floats, bar, block, disc, shape
from engine.solid import Body, Label

Point = tuple[float, float, float]


def _part(name: str) -> Label:
    return Label(name, None, "part")


def inline_engine(b: Body, x0: float, x1: float, z0: float, z1: float, *, wide: float = 330) -> None:
    """An in-line engine with rocker cover, air cleaner, manifold, ignition, sump, fan and pulley between x0 and x1."""
    half, middle = wide / 2, (x0 + x1) / 2
    b.prism("engine", "xy", block(x0, -half, x1, half, 40), z0 + 130, z1, _part("block"))
    b.prism("engine", "xy", block(x0 + 30, -half + 70, x1 - 20, half - 70, 50), z1, z1 + 74, _part("rockercover"))
    for x in (x0 + 110, x1 - 100):  # the one in the middle lies under the air cleaner
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
    b.plate("engine", "xy", z1 + 173, [(_part("aircleaner/lid"), disc(middle + 20, -half - 6, 120))])
    b.prism("engine", "xy", block(middle - 230, -half - 36, middle - 120, -half + 24, 8), z1 + 88, z1 + 150, _part("snorkel"))
    _ignition(b, x0, x1, z1, half)
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


def _ignition(b: Body, x0: float, x1: float, z1: float, half: float) -> None:
    """Distributor and coil on the left of the block, and a lead to each plug."""
    x, y = (x0 + x1) / 2 - 30, half + 34
    cap = [(-120, 26), (-60, 26), (-56, 36), (-6, 36), (0, 26), (0, 0)]
    b.turn("engine", (x, y, z1 - 30), cap, _part("distributor"), axis="z")
    b.turn("engine", (x + 120, y + 6, z1 - 60), [(-58, 0), (-58, 27), (58, 27), (58, 0)], _part("coil"), n=40, axis="x")
    for k, plug in enumerate(np.linspace(x0 + 80, x1 - 80, 4)):
        lead = curved((x, y, z1 - 24), ((x + plug) / 2, y + 26, z1 + 24), (float(plug), half - 12, z1 + 6))
        b.sweep("enginehose", lead, bar(13, 13, 6), _part(f"lead{k}"), upright=False)


def curved(start: Point, bend: Point, end: Point, n: int = 18) -> Floats:
    """Points from start to end, drawn towards `bend` on the way: (n, 3)."""
    t = np.linspace(0, 1, n)[:, None]
    return (1 - t) ** 2 * np.array(start) + 2 * t * (1 - t) * np.array(bend) + t**2 * np.array(end)


def hoses(b: Body, radiator: Point, engine: Point, rear: Point, wall: float) -> None:
    """Top hose from the radiator to the front of the engine, two heater hoses from its rear to the wall behind it."""
    x1, y1, z1 = engine
    top = curved(radiator, (x1, radiator[1], radiator[2]), engine)
    b.sweep("enginehose", top, bar(44, 44, 21), _part("tophose"), upright=False)
    b.turn("enginehose", (x1, y1, z1 - 60), [(0, 44), (60, 44), (72, 30), (72, 0)], _part("thermostat"), n=48, axis="z")
    for k in (0, 1):
        x, y, z = rear[0], rear[1] - 54 * k, rear[2]
        hose = curved((x, y, z), ((x + wall) / 2, y - 30, z + 40), (wall, y - 90, z + 30))
        b.sweep("enginehose", hose, bar(26, 26, 12), _part(f"heaterhose{k}"), upright=False)


def radiator(b: Body, x: float, half: float, z0: float, z1: float) -> None:
    """A radiator across the vehicle at x, with header tank and cap."""
    b.prism("enginehose", "xy", block(x, -half, x + 56, half), z0, z1 - 70, Label("core", None, "part"))
    b.prism("enginehose", "xy", block(x - 8, -half, x + 64, half, 16), z1 - 70, z1, _part("header"))
    b.turn("enginehose", (x + 28, half * 0.55, z1), [(0, 34), (14, 34), (20, 26), (20, 0)], _part("cap"), n=40, axis="z")


def gearbox(b: Body, x0: float, x1: float, z: float) -> None:
    """A gearbox behind the engine, tapering rearwards."""
    points = [(x0, 165), (x0 + 190, 120), (x1 - 60, 85), (x1, 60)]
    outline = shape(*points, *[(x, -y) for x, y in points[::-1]], r=22)
    b.prism("running", "xy", outline, z - 75, z + 75, _part("gearbox"))
    b.prism("running", "xy", block(x0 - 24, -185, x0 + 10, 185, 12), z - 120, z + 110, _part("bell"))
