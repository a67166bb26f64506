"""The single numbers of the exposure model, from the table exposure_constants.csv."""

from __future__ import annotations

from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import nearest
from weldworth.tables.load import Tables

TABLE = "exposure_constants.csv"
NAMES = {
    "b_open": (0.3, 1.0),
    "b_sheltered": (0.3, 1.5),
    "reference_years": (1.0, 200.0),
    "reference_rate_um": (1.0, 700.0),
    "lowest": (0.001, 1.0),
    "highest": (1.0, 100.0),
    "unknown_rate_um": (1.0, 700.0),
    "closed_gap_years": (0.0, 3.0),
    "winters_driven_unknown": (0.0, 1.0),
    "winters_driven_unknown_salt": (0.0, 1.0),
    "salted_below_c": (-20.0, 30.0),
    "town_km": (0.0, 200.0),
    "island_km": (0.0, 200.0),
}
"""Name -> lowest and highest value that makes sense."""


def constants(tables: Tables) -> dict[str, float]:
    """Name -> value. Raises BadInput for a name that is missing or not known, or a value outside its range."""
    values: dict[str, float] = {}
    problems: list[Problem] = []
    for row in tables.rows(TABLE, ("name", "value", "unit", "meaning")):
        name = row.text("name")
        if name not in NAMES:
            best = nearest(name, NAMES)
            problems.append(Problem(row.where, f"name {name!r} is not known" + (f"; nearest: {best!r}" if best else "")))
            continue
        low, high = NAMES[name]
        try:
            values[name] = row.number("value", low=low, high=high)
        except BadInput as error:
            problems.extend(error.problems)
    if not problems:
        problems = [Problem(TABLE, f"{name!r} is missing") for name in NAMES if name not in values]
    if problems:
        raise BadInput(problems)
    return values
