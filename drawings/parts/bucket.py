"""A bucket seat: cushion and leaning back; context only."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import block, rounded
from engine.sides import Side
from engine.solid import Body


def bucket_seat(b: Body, side: Side, x: float, y: float, z: float, *, wide: float = 400, top: float = 830) -> None:
    """A seat whose cushion begins at x; y: its middle outwards; z: of the floor; top: of its back."""
    cushion, back = side.label("cushion", None, "soft"), side.label("seatback", None, "soft")
    y0, y1 = side.s * (y - wide / 2), side.s * (y + wide / 2)
    low, high = min(y0, y1), max(y0, y1)
    b.prism("seat", "xy", block(x, low, x + 400, high, 60), z + 60, z + 165, cushion)
    b.plate("seat", "xy", z + 167, [(side.label("cushion/inset", None, "soft"), block(x + 50, low + 55, x + 350, high - 55, 40))])
    outline = rounded(block(low, z + 90, high, top), 90)

    def lean(Z: Any) -> Any:
        return x + 372 + 0.24 * (Z - z - 90)

    b.plate("seat", "yz", lambda U, V: lean(V), [(back, outline)])
    b.plate("seat", "yz", lambda U, V: lean(V) + 92, [(back, outline)])
    q = np.asarray(outline.exterior.segmentize(40).coords)

    def rim(U: Any, V: Any) -> tuple[Any, Any, Any]:
        at = q[U.astype(int)]
        return lean(at[..., 1]) + V, at[..., 0], at[..., 1]

    b.sheet("seat", rim, np.arange(len(q), dtype=float), [0, 92], back)
