"""The two sides of a vehicle, and labels that carry them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from engine.shapes import Shape, block
from engine.solid import Label


@dataclass(frozen=True)
class Side:
    """One side: s is +1 for the vehicle's left, -1 for its right; y grows to the left."""

    code: str
    letter: str
    s: int

    def label(self, panel: str, zone: str | None = None, kind: str = "body") -> Label:
        """A label of this side; `zone` without body code and side, such as "frame.horn"."""
        base, slash, pressing = panel.partition("/")
        return Label(f"{base}.{self.letter}{slash}{pressing}", f"{self.code}.{zone}.{self.letter}" if zone else None, kind)

    def flat(self, x0: float, y0: float, x1: float, y1: float, r: float = 0) -> Shape:
        """A rectangle in plan, y measured outwards on this side."""
        return block(x0, self.s * y0, x1, self.s * y1, r)

    def points(self, *outward: tuple[float, float]) -> list[tuple[float, float]]:
        """Points (x, y) in plan, y measured outwards on this side."""
        return [(x, self.s * y) for x, y in outward]


def sides(code: str) -> tuple[Side, Side]:
    """Left and right of the body whose zone ids begin with `code`."""
    return Side(code, "l", 1), Side(code, "r", -1)


def centre(code: str) -> Callable[..., Label]:
    """Labels on the centre line: label(panel, zone=None, kind="body")."""

    def label(panel: str, zone: str | None = None, kind: str = "body") -> Label:
        return Label(panel, f"{code}.{zone}" if zone else None, kind)

    return label
