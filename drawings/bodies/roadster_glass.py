"""The roadster's windshield: its frame is a zone of its own, and so are the feet of its posts."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import bar, block, rounded, steps
from engine.sides import centre
from engine.solid import Body, Label

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
    glass = rounded(block(-542, 32, 542, 268), 24)
    paint = [
        (C("shieldframe", None, "part"), frame),
        *(
            (Label("shieldfoot", f"sr.screenfoot.{q}"), frame & block(t * 536, -60, t * 600, 90))
            for q, t in (("l", 1), ("r", -1))
        ),
        (C("shieldframe", "screenframe"), frame & block(-536, -60, 536, 32)),
        (C("shieldglass", None, "glass"), glass),
    ]
    b.sheet("shield", shield, steps(-566, 566, 14), steps(-5, 290, 10), paint)
    for s in (1, -1):
        path = [shield(np.float64(s * 90 + k * s * 44), np.float64(44 + 14 * k)) for k in range(8)]
        b.sweep("wiper", np.add(path, [-5, 0, 3]), bar(10, 7, 3), C(f"wiper{s}", None, "part"), upright=False)
