"""From the model's maps to suggested signs with probabilities, by a table fitted to pictures whose truth is known."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from weldworth.core.errors import BadInput, Problem
from weldworth.tables import Tables

CHANNELS = ("surface-rust", "scale", "bubbling", "hole", "fresh-coating", "staining", "patch")
_COLUMNS = ("sign", "slope", "intercept", "suggest_from")
_HIGH = 0.997  # the level that three pixels in a thousand exceed speaks for a map
_CLEAR = 1e-4


def chances(maps: npt.NDArray[np.float32], tables: Tables) -> tuple[float, tuple[tuple[str, float], ...]]:
    """(probability of rust, signs likely enough to suggest with their probabilities, likeliest first).

    maps : (7, m, n) in 0..1, in the order of CHANNELS. Raises BadInput when rust_signs.csv lacks a sign.
    """
    rows = {row.text("sign"): row for row in tables.rows("rust_signs.csv", _COLUMNS)}
    missing = [Problem("rust_signs.csv", f"has no row for {sign!r}") for sign in CHANNELS if sign not in rows]
    if missing:
        raise BadInput(missing)
    rust, found = 0.0, []
    for sign, level in zip(CHANNELS, np.quantile(maps.reshape(len(CHANNELS), -1), _HIGH, axis=1), strict=True):
        row = rows[sign]
        chance = chance_of(float(level), row.number("slope"), row.number("intercept"))
        rust = chance if sign == "surface-rust" else rust
        if chance >= row.number("suggest_from", low=0, high=1):
            found.append((sign, chance))
    return rust, tuple(sorted(found, key=lambda item: -item[1]))


def chance_of(level: float, slope: float, intercept: float) -> float:
    """Probability that a sign is there, from the high level of its map: a logistic in the level's log odds."""
    level = min(max(level, _CLEAR), 1 - _CLEAR)
    return 1 / (1 + math.exp(-(slope * math.log(level / (1 - level)) + intercept)))
