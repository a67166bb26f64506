"""Lines and bars made of characters: the dimension line of a spread, its axis, the bar of six conditions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from weldworth.report.numbers import shares_of
from weldworth.report.sheet import Axis
from weldworth.vehicle.conditions import CONDITIONS


@dataclass(frozen=True, slots=True)
class Strokes:
    """The characters to draw with. conditions : one for each condition, in the order of CONDITIONS."""

    conditions: tuple[str, ...]
    line: str
    end: str
    middle: str
    ceiling: str
    price: str
    tick: str


DRAWN = Strokes(("·", "░", "▒", "█", "=", "▚"), "─", "\u2571", "●", "▼", "○", "┬")
PLAIN = Strokes((".", ":", "+", "#", "=", "%"), "-", "/", "o", "V", "O", "+")


def strokes_for(encoding: str | None) -> Strokes:
    """The drawn characters where the encoding has them all, plain ones elsewhere."""
    try:
        "".join((*DRAWN.conditions, DRAWN.line, DRAWN.end, DRAWN.middle, DRAWN.ceiling, DRAWN.price, DRAWN.tick)).encode(
            encoding or "ascii"
        )
    except (UnicodeEncodeError, LookupError):
        return PLAIN
    return DRAWN


def condition_bar(chances: Sequence[float], strokes: Strokes, width: int = 20) -> str:
    """The six chances as one bar of `width` characters.

    >>> condition_bar([0.5, 0.2, 0.1, 0.1, 0.05, 0.05], PLAIN, 20)
    '..........::::++##=%'
    """
    return "".join(char * count for char, count in zip(strokes.conditions, shares_of(chances, width), strict=True))


def condition_key(strokes: Strokes) -> str:
    """What each character of the bar stands for."""
    return "  ".join(f"{char} {name}" for char, name in zip(strokes.conditions, CONDITIONS, strict=True))


def place(value: float, top: float, width: int) -> int:
    """The column at which a value from 0 to `top` lies."""
    return max(0, min(width - 1, round(value / top * (width - 1)))) if top > 0 else 0


def dimension_line(low: float, middle: float, high: float, top: float, strokes: Strokes, width: int = 46) -> str:
    """A line with slant ends from low to high and a dot between them, on an axis from 0 to `top`.

    >>> dimension_line(2, 5, 8, 10, PLAIN, 11)
    '  /--o--/  '
    """
    chars = [" "] * width
    start, end = place(low, top, width), place(high, top, width)
    for column in range(start, end + 1):
        chars[column] = strokes.line
    chars[place(middle, top, width)] = strokes.middle
    chars[start] = chars[end] = strokes.end
    return "".join(chars)


def mark_line(columns: Sequence[tuple[float, str]], top: float, width: int = 46) -> str:
    """Single characters at their values on the axis."""
    chars = [" "] * width
    for value, char in columns:
        chars[place(value, top, width)] = char
    return "".join(chars)


def tick_lines(axis: Axis, strokes: Strokes, width: int = 46) -> tuple[str, str]:
    """The axis with its ticks, and the labels under it; labels that would touch are left out."""
    top = axis.ticks[-1]
    line = [strokes.line] * width
    labels = [" "] * (width + 10)
    free = 0
    for value, label in zip(axis.ticks, axis.labels, strict=True):
        column = place(value, top, width)
        line[column] = strokes.tick
        start = max(0, column - len(label) // 2)
        if start >= free and start + len(label) <= len(labels):
            labels[start : start + len(label)] = label
            free = start + len(label) + 2
    return "".join(line), "".join(labels).rstrip()
