"""A picture folder for the tests that take pictures in."""

from __future__ import annotations

from pathlib import Path

import pytest

from weldworth.picture.folder import PictureFolder


@pytest.fixture
def folder(tmp_path: Path) -> PictureFolder:
    return PictureFolder(tmp_path / "kept")
