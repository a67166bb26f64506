"""Objects of known size and the terms of measuring, from their tables; which two coins have a ratio of sizes."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

import numpy as np

from weldworth.core.errors import BadInput, Problem
from weldworth.tables import Tables, load_tables

_TERMS = (
    "focal_35mm", "focal_spread_unknown", "focal_spread_told", "distortion", "tap_px", "edge_px", "rim_share", "side_share",
    "tilt_spread_deg", "tilt_highest_deg", "least_coin_px", "least_side_px", "blur_share", "farthest_sizes", "widest_share",
    "level",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class ScaleObject:
    """One object of known size, scale_objects.csv: shape coin, quad or marker; mm; tolerance as a share."""

    name: str
    shape: str
    width: float
    height: float
    thickness: float
    tolerance: float
    words: str


def rank_coins(ratio: float, spread: float = 0.02, *, tables: Tables | None = None) -> tuple[tuple[str, str, float], ...]:
    """Which two US coins have diameters in this ratio (first over second): (first, second, probability), likeliest first.

    spread : one spread of ln(ratio). Two of a kind are among the choices. Probabilities sum to 1. Raises BadInput for no ratio.
    """
    if not (np.isfinite(ratio) and ratio > 0 and spread > 0):
        raise BadInput([Problem("ratio", f"{ratio} with spread {spread} is no ratio of sizes; give numbers above 0")])
    coins = [thing for thing in objects(load_tables() if tables is None else tables).values() if thing.shape == "coin"]
    pairs = [*permutations(coins, 2), *((coin, coin) for coin in coins)]
    misses = np.array([np.log(ratio * second.width / first.width) / spread for first, second in pairs])
    weights = np.exp(-0.5 * (misses**2 - (misses**2).min()))
    ranked = sorted(zip(pairs, weights / weights.sum(), strict=True), key=lambda item: -item[1])
    return tuple((first.name, second.name, float(weight)) for (first, second), weight in ranked)


def objects(tables: Tables) -> dict[str, ScaleObject]:
    rows = tables.rows("scale_objects.csv", ("name", "shape", "width_mm", "height_mm", "thickness_mm", "tolerance", "words"))
    found = {}
    for row in rows:
        width, height = row.number("width_mm", low=0), row.number("height_mm", low=0)
        thickness, tolerance = row.number("thickness_mm", low=0), row.number("tolerance", low=0)
        if row.text("shape") not in ("coin", "quad", "marker") or not width or not height:
            raise BadInput([Problem(row.where, "shape must be coin, quad or marker, and the sizes above 0")])
        name, shape = row.text("name"), row.text("shape")
        found[name] = ScaleObject(name, shape, width, height, thickness, tolerance, row.text("words"))
    return found


def terms_of(tables: Tables) -> dict[str, float]:
    found = {row.text("name"): row.number("value", low=0) for row in tables.rows("scale_terms.csv", ("name", "value", "meaning"))}
    missing = [Problem("scale_terms.csv", f"{name!r} is missing") for name in _TERMS if name not in found]
    if missing:
        raise BadInput(missing)
    return found
