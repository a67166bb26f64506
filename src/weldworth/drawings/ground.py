"""The ground round a vehicle: how large the body is, and where one stands to look at each zone, as the pictograms show it."""

from __future__ import annotations

import re
from functools import cache

from weldworth.drawings.shelf import SHIPPED, view_of
from weldworth.workbench.route import Ground

MM_PER_UNIT = 1 / 0.0165
"""Millimetres on the vehicle per unit of a pictogram, whose vehicle lies about MIDDLE with its nose to the left."""
MIDDLE = (80.0, 32.0)
_CAMERA = re.compile(r'<g transform="translate\(([\d.-]+) ([\d.-]+)\) rotate\(-?\d+\)">')


@cache
def ground(body: str) -> Ground:
    """Length and width of the body and the stand of every zone's first picture. Raises BadInput for a body without drawings."""
    plan = view_of(body, "plan")
    stands = {}
    for path in sorted((SHIPPED / body / "asks").glob("*.1.svg")):
        found = _CAMERA.search(path.read_text(encoding="utf-8"))
        if found is not None:
            x, y = (float(found[i + 1]) - MIDDLE[i] for i in (0, 1))
            stands[path.name.removesuffix(".1.svg")] = (x * MM_PER_UNIT, y * MM_PER_UNIT)
    return Ground(plan.box[2] * plan.mm_per_unit, plan.box[3] * plan.mm_per_unit, stands)
