"""The promised Python names: read_dossier, weigh and asks, without a screen or a web, quick to import."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import weldworth

ROOT = Path(__file__).resolve().parents[2]
DAY = date(2026, 11, 25)


def test_a_dossier_is_read_weighed_and_asked_about_in_three_lines(dossier: Path) -> None:
    read = weldworth.read_dossier(dossier, today=DAY)
    weighing = weldworth.weigh(read, seed=1, today=DAY)
    assert weighing.ceiling.amount >= 0 and weighing.seed == 1
    ranking = weldworth.asks(read, seed=1, today=DAY, count=2)
    assert ranking.asks == weighing.ranking.asks and len(ranking.best.asks) <= 2


def test_asks_is_a_function_and_the_package_of_that_name_at_once() -> None:
    import weldworth.asks.ask

    assert callable(weldworth.asks) and weldworth.asks.ask.Ask.__name__ == "Ask"


def test_importing_the_name_loads_nothing_heavy() -> None:
    code = (
        "import sys, weldworth; print([m for m in ('numpy', 'scipy', 'typer', 'rich', 'typst', 'sqlite3') if m in sys.modules])"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True)
    assert done.stdout.strip() == "[]"
