"""All that reads pixels: intake, quality, look-alikes, video, rust."""

from weldworth.picture.intake import Intake, take_in, working_copy
from weldworth.picture.quality import Verdict, check
from weldworth.picture.rust import look, overlay, rust_mask

__all__ = ["Intake", "Verdict", "check", "look", "overlay", "rust_mask", "take_in", "working_copy"]
