"""A small dossier of an invented vehicle, and a way to run a command as it would be typed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from weldworth.cli.main import app

TODAY = "2026-11-25"
SMALL = """
[vehicle]
name = "Tamarack"
body = "roadster"
model_year = 1967
number = "TK 67-1192"

[[history]]
place = "Tucson, AZ"
from = 1967
storage = "garage"

[[finding]]
zone = "{zone}"
sign = "bubbling"
source = "asked-picture"
seen_on = 2026-11-20

[[answer]]
question = "owned"
answer = "refused"

[sale]
kind = "asked"
price = 55000
seller_place = "Tucson, AZ"

[resale]
low = 110000
likely = 130000
high = 150000

[shop]
place = "Denver, CO"
"""


def first_zone() -> str:
    from weldworth.tables import load_tables
    from weldworth.vehicle.plans import load_plan

    return load_plan("roadster", load_tables()).zones[0].id


@pytest.fixture(scope="session")
def zone() -> str:
    """A zone of the small dossier's body."""
    return first_zone()


@pytest.fixture
def dossier(tmp_path: Path, zone: str) -> Path:
    """A dossier folder that may be changed."""
    folder = tmp_path / "tamarack"
    folder.mkdir()
    (folder / "candidate.toml").write_text(SMALL.replace("{zone}", zone), encoding="utf-8")
    return folder


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """Runs a command; the result has exit_code, stdout and stderr."""
    monkeypatch.setenv("WELDWORTH_TODAY", TODAY)
    monkeypatch.setenv("COLUMNS", "80")
    return lambda *words: CliRunner().invoke(app, [str(word) for word in words])
