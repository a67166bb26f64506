"""What the tests of taking pictures in share: where the pictures lie, made ones, one file taken or refused."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from weldworth.picture import take_in
from weldworth.picture.folder import PictureFolder
from weldworth.picture.intake import Intake
from weldworth.picture.limits import limits
from weldworth.tables import load_tables

DATA = Path(__file__).parent / "data"
PANEL = DATA / "intake_panel_a.jpg"
OPEN_PICTURES = Path(__file__).parents[3] / "shared" / "data" / "robustness"
TABLES = load_tables()
LIMITS = limits(TABLES)


def scene(width: int = 120, height: int = 90, seed: int = 0) -> np.ndarray:
    """A picture of something: coloured blocks of chance."""
    blocks = np.random.default_rng(seed).integers(0, 255, (6, 8, 3), dtype=np.uint8)
    return cv2.resize(blocks, (width, height), interpolation=cv2.INTER_CUBIC)


def saved(path: Path, image: Image.Image | None = None, **how: object) -> Path:
    (image or Image.fromarray(scene())).save(path, **how)
    return path


def taken(path: Path, folder: PictureFolder) -> Intake:
    return take_in(path, folder, tables=TABLES, workers=2)


def refused(path: Path, folder: PictureFolder) -> str:
    """The one sentence that a file is refused with; nothing of it may be left behind."""
    found = taken(path, folder)
    assert not found.pictures and not found.videos and len(found.problems) == 1
    assert not [item for item in folder.root.rglob("*") if item.is_file()], "something half-written was left"
    assert found.problems[0].where.startswith(path.name)
    return found.problems[0].text
