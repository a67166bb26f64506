"""The roadster's windshield: its frame is a zone of its own, and so are the feet of its posts."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import Shape, bar, block, rounded, shape, steps
from engine.sides import centre
from engine.solid import Body, Label, Surface

from bodies.roadster_shape import CODE, crown


def windshield(b: Body) -> None:
    """Windshield in its frame: curved in plan, leaning back."""
    C = centre(CODE)

    def shield(U: Any, V: Any) -> tuple[Any, Any, Any]:
        x = 692 + 104 * (np.abs(U) / 560) ** 2.2
        t = np.clip(V / 290, 0, 1)
        foot = crown(x, U) - 4
        return x + 0.5 * V, U * (1 - 0.00026 * V), foot + (852 - 26 * (U / 560) ** 2 - foot) * t + 0.86 * V

    frame = rounded(block(-566, -80, 566, 290), 30) & block(-566, -5, 566, 290)
    sill = _level(shield, 32)
    glass = rounded(block(-542, -9, 542, 268) - sill, 24)
    paint = [
        (C("shieldframe", None, "part"), frame),
        *(
            (Label("shieldfoot", f"sr.screenfoot.{q}"), frame & block(t * 536, -60, t * 600, 90))
            for q, t in (("l", 1), ("r", -1))
        ),
        (C("shieldframe", "screenframe"), frame & sill & block(-536, -60, 536, 90)),
        (C("shieldglass", None, "glass"), glass),
    ]
    b.sheet("shield", shield, steps(-566, 566, 14), steps(-5, 290, 10), paint)
    for s in (1, -1):
        path = [shield(np.float64(s * 90 + k * s * 44), np.float64(44 + 14 * k)) for k in range(8)]
        b.sweep("wiper", np.add(path, [-5, 0, 3]), bar(10, 7, 3), C(f"wiper{s}", None, "part"), upright=False)


def _level(surface: Surface, at: float) -> Shape:
    """What of a sheet lies below an even curve through its line v = `at`: the waves of the cowl below it evened out."""
    u, v = np.linspace(-570, 570, 115), np.linspace(-5, 120, 126)
    _, _, z = np.broadcast_arrays(*surface(u[:, None], v[None, :]))
    terms = np.stack([np.ones_like(u), (u / 570) ** 2, (u / 570) ** 4], 1)
    line = np.array([np.interp(at, v, row) for row in z])
    wanted = terms @ np.linalg.lstsq(terms, line, rcond=None)[0]
    edge = [float(np.interp(q, row, v)) for q, row in zip(wanted, z, strict=True)]
    return shape(*zip(u.tolist(), edge, strict=True), (570, -90), (-570, -90))
