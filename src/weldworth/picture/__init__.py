"""All that reads pixels: intake, quality, look-alikes, video, rust, scale, plates."""

from weldworth.picture.intake import Intake, take_in, working_copy
from weldworth.picture.plate import read_plate
from weldworth.picture.quality import Verdict, check
from weldworth.picture.rust import look, overlay, rust_mask
from weldworth.picture.scale import find_reference, from_points

__all__ = [
    "Intake",
    "Verdict",
    "check",
    "find_reference",
    "from_points",
    "look",
    "overlay",
    "read_plate",
    "rust_mask",
    "take_in",
    "working_copy",
]
