"""The one place that picks the clock and the tables for those who ask from outside."""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from weldworth.core.errors import BadInput, Problem
from weldworth.tables import Tables, load_tables

TODAY = "WELDWORTH_TODAY"
HOME = "WELDWORTH_HOME"


def day(text: str | None = None, environment: Mapping[str, str] = os.environ) -> date:
    """The day to weigh on: as given, else from WELDWORTH_TODAY, else today. Raises BadInput for what is no day."""
    where, given = ("--today", text) if text is not None else (TODAY, environment.get(TODAY))
    if not given:
        return date.today()
    try:
        return date.fromisoformat(given)
    except ValueError:
        raise BadInput([Problem(where, f"{given!r} is not a day; give one such as 2026-11-25")]) from None


def home(given: Path | None = None, environment: Mapping[str, str] = os.environ) -> Path:
    """Where a shop's data is: as given, else WELDWORTH_HOME, else the folder weldworth in the user's own."""
    if given is not None:
        return given
    return Path(environment[HOME]) if environment.get(HOME) else Path.home() / "weldworth"


def shop_tables() -> Tables:
    """The tables to work with: those shipped."""
    return load_tables()
