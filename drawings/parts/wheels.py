"""Wheels: tyre, disc rim and hub cap as one turned profile."""

from __future__ import annotations

from engine.shapes import soft
from engine.sides import Side
from engine.solid import Body


def wheel(
    b: Body, side: Side, x: float, y: float, *, radius: float = 370, wide: float = 190, rim: float = 205, cap: float = 104
) -> None:
    """A wheel standing on the ground, its middle plane at `y` outwards. radius: tyre; wide: tyre; rim, cap: radii, mm."""
    w, r = wide / 2, radius
    tyre = soft(
        [
            (-w, r * 0.42),
            (-w - 4, r * 0.6),
            (-w - 10, r * 0.8),
            (-w + 3, r * 0.96),
            (-w + 34, r),
            (w - 34, r),
            (w - 3, r * 0.96),
            (w + 10, r * 0.8),
            (w + 2, rim + 30),
        ]
    )
    face = [
        (w - 2, rim + 18),
        (w - 16, rim + 4),
        (w - 48, rim - 8),
        (w - 44, cap + 8),
        (w - 36, cap),
        (w - 14, cap - 12),
        (w + 2, cap * 0.58),
        (w + 6, 0),
    ]
    kinds = ["tyre"] * (len(tyre) - 1) + ["tyre"] + ["soft"] * 2 + ["part"] * 2 + ["soft"] * 3
    names = ["tyre"] * len(tyre) + ["lip"] * 2 + ["disc"] * 2 + ["cap"] * 3
    paint = [side.label(f"{name}{x:.0f}", None, kind) for name, kind in zip(names, kinds, strict=True)]
    b.turn("wheel", (x, side.s * y, radius), [(h * side.s, q) for h, q in [*tyre, *face]], paint, n=120)
    b.turn(
        "drum",
        (x, side.s * (y - w - 20), radius),
        [(0, 0), (0, 150), (side.s * 60, 150)],
        side.label(f"drum{x:.0f}", None, "part"),
        n=90,
    )
