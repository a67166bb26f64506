"""Which pictures a training run must not see. Whole sources are held out, or whole scenes of one source."""

from __future__ import annotations

# pictures of rust-polygons that show vehicle bodies or smooth painted sheet close up, by number, with all views of one scene
PANELS = (22, 23, 24, 25, 26, 27, 31, 40, 41, 43, 48, 54, 55, 64, 65, 78, 79, 82, 86, 87)

# those of them that show vehicle bodies
BODIES = (24, 31, 40, 41, 43, 48)

# scenes of PANELS, for runs that see half of them
HALVES = {
    "panels-1": (22, 24, 27, 40, 43, 54, 64, 65, 86, 87),
    "panels-2": (23, 25, 26, 31, 41, 48, 55, 78, 79, 82),
}

# pictures whose boxes turned out to follow the rust, seen by eye: the ones that the box sources are judged on
CHECKED = {
    "phone-rust": (1, 2, 12, 13, 14, 15, 16, 17, 18, 20, 22, 24, 29, 30, 31, 32, 33, 36, 41, 42),
    "tower-boxes": (2, 6, 10, 12, 20, 22, 29, 30, 31, 37, 46, 49, 50, 51, 52),
}


def held_out(fold: str, source: str, number: int) -> bool:
    """Whether this picture is kept from the run `fold`."""
    if fold == "other-cameras":
        return source in ("phone-rust", "tower-boxes")
    if fold == "polygons":
        return source == "rust-polygons"
    if fold == "panels":
        return source == "rust-polygons" and number in PANELS
    if fold in HALVES:
        return source == "rust-polygons" and number in HALVES[fold]
    if fold == "all":
        return False
    raise ValueError(f"fold {fold!r} is not one of other-cameras, polygons, panels, panels-1, panels-2, all")
