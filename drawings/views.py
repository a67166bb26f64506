"""What a view is, and the directions that vehicles are looked at from."""

from __future__ import annotations

from dataclasses import dataclass, field

from engine.plain import Plain
from engine.raster import EVERYWHERE, axes_of
from engine.shapes import Floats

LEFT, RIGHT = axes_of((1, 0, 0), (0, 0, 1)), axes_of((-1, 0, 0), (0, 0, 1))
FRONT, REAR = axes_of((0, 1, 0), (0, 0, 1)), axes_of((0, -1, 0), (0, 0, 1))
ABOVE, BELOW = axes_of((1, 0, 0), (0, -1, 0)), axes_of((1, 0, 0), (0, 1, 0))
INTO_CAB = axes_of((0, -1, 0), (-0.45, 0, 0.9))
THREE_QUARTER = axes_of((0.8, 0.6, 0), (0.2, -0.267, 1))


@dataclass(frozen=True)
class Crop:
    """A crowded place on its own. box: left, bottom, right, top in the picture plane of its view, mm."""

    name: str
    title: str
    box: tuple[float, float, float, float]


@dataclass(frozen=True)
class ViewOf:
    """One view of a body.

    axes : one of the directions above. without, only : beginnings of part names left out, or kept. clip : space kept,
    x0, x1, y0, y1, z0, z1. bounds : left, bottom, right, top of the picture plane, mm; None = all that is drawn.
    px : mm per pixel of the picture that is traced. unit : mm per unit of the path data.
    portrait : also given with its left end at the top. px_wide : the width that its line weights are meant for.
    plain : panels that are drawn as another one, such as the lamps of the nose from the side.
    """

    name: str
    title: str
    axes: Floats
    px: float = 1.0
    unit: float = 1.0
    without: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    clip: tuple[float, ...] = EVERYWHERE
    bounds: tuple[float, float, float, float] | None = None
    portrait: bool = False
    px_wide: float = 860
    plain: tuple[Plain, ...] = ()
    crops: tuple[Crop, ...] = field(default=())


def mirror(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """A crop box of a side view on the other side's view, or the other half of a plan or end view: first axis turned."""
    return -box[2], box[1], -box[0], box[3]


def other_half(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """A crop box of a plan view on the other side of the centre line: second axis turned."""
    return box[0], -box[3], box[2], -box[1]


def one_side(letter: str, *rules: Plain) -> tuple[Plain, ...]:
    """What is drawn plain in a side view; boxes as on the left side, "@" in a name stands for the side's letter."""
    return tuple(
        Plain(
            tuple(name.replace("@", letter) for name in rule.panels),
            rule.drawn_as.replace("@", letter),
            mirror(rule.box) if rule.box and letter == "r" else rule.box,
        )
        for rule in rules
    )


Place = tuple[str, str, tuple[float, float, float, float]]
"""Name, title and box of a crowded place."""


def sides(*places: Place, turn: bool = False) -> tuple[Crop, ...]:
    """Crops of a side view; boxes as on the left side, turned over for the right one."""
    return tuple(Crop(name, title, mirror(box) if turn else box) for name, title, box in places)


def halves(*places: Place) -> tuple[Crop, ...]:
    """The same places on both sides of a plan view; boxes on the vehicle's left, which lies below as seen from underneath."""
    words = (("l", "left", False), ("r", "right", True))
    return tuple(
        Crop(f"{name}-{q}", f"{title}, {word}", other_half(box) if turn else box)
        for name, title, box in places
        for q, word, turn in words
    )
