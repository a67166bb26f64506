"""What a zone truly is. The order is fixed: it is the order of every array of six in the program."""

from __future__ import annotations

CONDITIONS = ("sound", "surface", "pitted", "holed", "mended", "masked")
SOUND, SURFACE, PITTED, HOLED, MENDED, MASKED = range(6)
