"""How big, how many and how long: the limits of picture_limits.csv."""

from __future__ import annotations

from dataclasses import dataclass, fields

from weldworth.core.errors import BadInput, Problem
from weldworth.tables import Tables


@dataclass(frozen=True, slots=True)
class Limits:
    """One field per row of picture_limits.csv; meanings and units stand there."""

    single_bytes: float
    picture_bytes: float
    pixels_whole: float
    pixels_copied: float
    pixels_jpeg: float
    pixels_progressive: float
    pixels_large: float
    least_side: float
    flat_spread: float
    zip_members: float
    zip_bytes: float
    zip_ratio: float
    video_pixels: float
    video_seconds: float
    video_frames: float
    video_per_second: float
    video_apart: float
    working_px: float
    preview_px: float
    judge_px: float
    memo_bytes: float
    memo_seconds: float


def limits(tables: Tables) -> Limits:
    """Read picture_limits.csv; raises BadInput naming every row that is missing or not known."""
    rows = tables.rows("picture_limits.csv", ("name", "value", "meaning"))
    found = {row.text("name"): row.number("value", low=0) for row in rows}
    wanted = {field.name for field in fields(Limits)}
    problems = [Problem("picture_limits.csv", f"row {name!r} is missing") for name in sorted(wanted - set(found))]
    problems += [Problem("picture_limits.csv", f"row {name!r} is not known") for name in sorted(set(found) - wanted)]
    if problems:
        raise BadInput(problems)
    return Limits(**found)
