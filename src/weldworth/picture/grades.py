"""Rusted area as grades of the open scales: ISO 4628-3 (Ri 0..5) and ASTM D610 (10..0)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from weldworth.core.errors import BadInput, Problem
from weldworth.tables import Tables

_COLUMNS = ("scale", "grade", "low", "high")


@dataclass(frozen=True, slots=True)
class Grades:
    """ri : 0..5 in half steps, between two grades where the area lies between theirs. d610 : 10 (no rust) to 0."""

    ri: float
    d610: int


def grades(area_percent: float, tables: Tables) -> Grades:
    """The grades of a rusted area in per cent of the surface looked at, 0..100; raises BadInput outside it.

    D610 grades are bands of area, upper bound included (ASTM D610, Table 1). ISO 4628-3 gives areas for whole grades only;
    between them the grade runs with the logarithm of the area and is rounded to half a step.
    """
    if not 0 <= area_percent <= 100:
        raise BadInput([Problem("rusted area", f"{area_percent:g} is not a share in per cent; give 0 to 100")])
    rows = tables.rows("rust_grades.csv", _COLUMNS)
    bands = sorted(
        (row.number("high", low=0, high=100), int(row.number("grade"))) for row in rows if row.text("scale") == "astm-d610"
    )
    marks = sorted((row.number("low", low=0, high=100), row.number("grade")) for row in rows if row.text("scale") == "iso-4628-3")
    d610 = next(grade for high, grade in bands if area_percent <= high)
    return Grades(_between(area_percent, marks, bands[0][0]), d610)


def _between(area: float, marks: list[tuple[float, float]], nothing: float) -> float:
    """The ISO grade of an area; up to `nothing` per cent counts as no rust."""
    points = [(max(at, nothing), grade) for at, grade in marks]
    if area <= points[0][0]:
        return points[0][1]
    for (low, first), (high, second) in pairwise(points):
        if area <= high:
            share = math.log(area / low) / math.log(high / low)
            return round(2 * (first + share * (second - first))) / 2
    return points[-1][1]
