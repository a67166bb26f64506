"""Where things lie on a drawn money axis: the dimension line of a spread, the ceiling's triangle, the price's circle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from weldworth.report.numbers import money, ticks

TICK = 4.0
GAP = 9.0


@dataclass(frozen=True, slots=True)
class Mark:
    """A figure beside a mark. anchor : start or end."""

    x: float
    text: str
    anchor: str


@dataclass(frozen=True, slots=True)
class MoneyLine:
    """One spread on the common axis, in drawing units. dim : path of the line with its slant ends; beyond : path of the open
    end where it runs past the axis. mid, ceiling, price : where they lie, or None. ceiling_text, price_text : their figures.
    """

    width: float
    axes: tuple[float, ...]
    dim: str
    mid: float | None
    ceiling: float | None
    price: float | None
    ceiling_text: Mark | None
    price_text: Mark | None


@dataclass(frozen=True, slots=True)
class MoneyAxis:
    """An axis from 0 to `top`, drawn `width` units wide. marks : (value, where) of each faint vertical."""

    top: float
    width: float
    marks: tuple[tuple[float, float], ...]

    def at(self, value: float) -> float:
        """Where a value lies, kept within the drawing."""
        return round(min(max(value, 0.0), self.top) / self.top * self.width, 1)


def axis_for(highs: Sequence[float], width: float) -> MoneyAxis:
    """The axis that all rows share: long enough for nine rows in ten; the longest of the others run past its end.

    One very dear vehicle would otherwise push all the others into a corner.
    """
    ordered = sorted(high for high in highs if high > 0)
    usual = ordered[min(len(ordered) - 1, int(0.9 * len(ordered)))] if ordered else 1.0
    top = ordered[-1] if ordered and ordered[-1] <= 1.6 * usual else usual
    marks = ticks(top, 5)
    return MoneyAxis(marks[-1], width, tuple((mark, round(mark / marks[-1] * width, 1)) for mark in marks))


def money_line(
    axis: MoneyAxis,
    low: float | None,
    middle: float | None,
    high: float | None,
    ceiling: float | None,
    price: float | None,
    y: float = 26,
) -> MoneyLine:
    """The drawing of one row; what is None is left out."""
    dim = ""
    if low is not None and high is not None:
        a, b = axis.at(low), axis.at(high)
        start = f"M{a - TICK:.1f} {y + 5:g}l8-10"
        end = f"M{b - TICK:.1f} {y + 5:g}l8-10" if high <= axis.top else f"M{b - 7:.1f} {y - 5:g}l7 5l-7 5"
        dim = f"M{a:.1f} {y:g}H{b:.1f}{start}{end}"
    c, p = (None if value is None else axis.at(value) for value in (ceiling, price))
    return MoneyLine(
        width=axis.width,
        axes=tuple(where for _, where in axis.marks),
        dim=dim,
        mid=None if middle is None or middle > axis.top else axis.at(middle),
        ceiling=c,
        price=p,
        ceiling_text=None if c is None or ceiling is None else _beside(c, p, money(ceiling, 50), axis.width),
        price_text=None if p is None or price is None else _beside(p, c, money(price), axis.width, near=5.0),
    )


def _beside(x: float, other: float | None, text: str, width: float, near: float = GAP) -> Mark:
    """The figure on the side away from the other mark, and always within the drawing."""
    room = 8.0 * len(text)
    right = other is None or x >= other
    if right and x + near + room > width:
        right = False
    if not right and x - near - room < 0:
        right = True
    return Mark(round(x + near if right else x - near, 1), text, "start" if right else "end")
