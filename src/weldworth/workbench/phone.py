"""What phones may send: the limits of phone_limits.csv."""

from __future__ import annotations

from dataclasses import dataclass, fields

from weldworth.core.errors import BadInput, Problem
from weldworth.tables import Tables


@dataclass(frozen=True, slots=True)
class PhoneLimits:
    """One field per row of phone_limits.csv; meanings and units stand there."""

    link_days: float
    link_asks: float
    link_pictures: float
    link_bytes: float
    item_bytes: float
    words: float
    items: float
    per_minute: float
    piece_bytes: float
    reserve_bytes: float
    part_days: float


def phone_limits(tables: Tables) -> PhoneLimits:
    """Read phone_limits.csv; raises BadInput naming every row that is missing or not known."""
    rows = tables.rows("phone_limits.csv", ("name", "value", "meaning"))
    found = {row.text("name"): row.number("value", low=0) for row in rows}
    wanted = {field.name for field in fields(PhoneLimits)}
    problems = [Problem("phone_limits.csv", f"row {name!r} is missing") for name in sorted(wanted - set(found))]
    problems += [Problem("phone_limits.csv", f"row {name!r} is not known") for name in sorted(set(found) - wanted)]
    if problems:
        raise BadInput(problems)
    return PhoneLimits(**found)
