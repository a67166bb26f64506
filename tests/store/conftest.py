"""The folder of these tests on the path, for the desks that they share; a desk with two people and a pickup."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from days import RESALE
from desks import desk_on

from weldworth.store.sqlite import SqliteStore
from weldworth.workbench.desk import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return desk_on(SqliteStore(tmp_path / "weldworth.sqlite"), tmp_path)


@pytest.fixture
def ann(desk: Desk) -> str:
    return desk.people.add("Ann", "owner").id


@pytest.fixture
def ben(desk: Desk) -> str:
    return desk.people.add("Ben", "partner").id


@pytest.fixture
def pickup(desk: Desk, ann: str) -> str:
    id = desk.open_candidate("Tamarack hauler", "pickup", ann, model_year=1968)
    desk.record(id, "resale", RESALE, ann)
    return id
