"""doctor: whether everything that weldworth needs is there."""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from importlib import metadata

import typer

from weldworth import __version__
from weldworth.bootstrap import shop_tables
from weldworth.cli.output import console, printed, say
from weldworth.core.errors import BadInput
from weldworth.report.promised import as_text
from weldworth.report.strokes import DRAWN, strokes_for
from weldworth.report.text import Printer
from weldworth.tables import Tables
from weldworth.tables.load import SHIPPED

LIBRARIES = (
    "numpy",
    "scipy",
    "geographiclib",
    "typer",
    "rich",
    "typst",
    "pillow",
    "opencv-python-headless",
    "pi-heif",
    "av",
    "onnxruntime",
    "fastapi",
    "jinja2",
    "uvicorn",
    "python-multipart",
    "argon2-cffi",
    "sqlalchemy",
    "alembic",
    "rapidocr",
    "python-calamine",
    "babel",
    "cryptography",
    "segno",
)
LEAST_PYTHON = (3, 11)


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that was looked at: what was found, whether it will do, and what to do where it will not."""

    name: str
    found: str
    ok: bool
    remedy: str = ""


def checks(encoding: str | None) -> list[Check]:
    """Everything that is looked at. encoding : of the terminal."""
    tables = shop_tables()
    python = ".".join(map(str, sys.version_info[:3]))
    found = [
        Check("weldworth", __version__, True),
        Check("python", python, sys.version_info[:2] >= LEAST_PYTHON, "install Python 3.11 or newer"),
        *(_library(name) for name in LIBRARIES),
        _tried("tables", lambda: _tables(tables), "the table named is broken or gone: install weldworth anew"),
        _tried("body plans", lambda: _plans(tables), "the plan named is broken or gone: install weldworth anew"),
        _tried("places", lambda: _places(tables), "the place data is broken or gone: install weldworth anew"),
        _tried("reports", _reports, "install typst for Python and weldworth with its fonts"),
    ]
    drawn = strokes_for(encoding) is DRAWN
    words = "drawn characters" if drawn else "plain characters only; set PYTHONIOENCODING=utf-8 for finer bars"
    return [*found, Check("terminal", f"{encoding or 'unknown encoding'}: {words}", True)]


def _library(name: str) -> Check:
    try:
        return Check(name, metadata.version(name), True)
    except metadata.PackageNotFoundError:
        return Check(name, "missing", False, f"install {name}")


def _tried(name: str, look: Callable[[], str], remedy: str) -> Check:
    """The outcome of a look that may fail in any way: whatever it is, it is said here."""
    try:
        return Check(name, look(), True)
    except Exception as error:
        told = "; ".join(str(error).splitlines()[:3]) or type(error).__name__
        return Check(name, told, False, remedy)


def _tables(tables: Tables) -> str:
    problems = list(_table_problems(tables))
    if problems:
        raise BadInput(problems)
    return f"version {tables.version}, {len(list(SHIPPED.rglob('*.csv')))} tables, every row with its source"


def _table_problems(tables: Tables) -> Iterator[str]:
    for path in sorted(SHIPPED.rglob("*.csv")):
        name = path.relative_to(SHIPPED).as_posix()
        with path.open(encoding="utf-8", newline="") as file:
            columns = tuple(column for column in next(csv.reader(file), []) if column not in ("basis", "source", "as_of"))
        try:
            tables.rows(name, columns)
        except BadInput as error:
            yield from map(str, error.problems)
    for path in sorted(SHIPPED.rglob("*.toml")):
        try:
            tables.toml(path.relative_to(SHIPPED).as_posix())
        except BadInput as error:
            yield from map(str, error.problems)


def _plans(tables: Tables) -> str:
    from weldworth.vehicle.plans import load_plan

    plans = [load_plan(name, tables) for name in tables.plan_names()]
    if not plans:
        raise BadInput("there is no body plan")
    return ", ".join(f"{plan.body} ({len(plan.zones)} zones)" for plan in plans)


def _places(tables: Tables) -> str:
    from weldworth.exposure.places import find_place

    place = find_place("48201", tables)
    return f"48201 is {place.name}, {place.sea_km:,.0f} km from the sea"


def _reports() -> str:
    from weldworth.report.pdf import fonts, trial_page

    return f"typst writes a page of {len(trial_page()):,} bytes with {len(fonts())} fonts of its own"


def examine(*, as_json: bool) -> None:
    """weldworth doctor."""
    found = checks(console().encoding)
    missing = [check for check in found if not check.ok]
    if as_json:
        say(as_text({"ok": not missing, "checks": [asdict(check) for check in found]}))
    else:
        with printed() as shown:
            printer = Printer(shown)
            printer.table([(check.name, "" if check.ok else "MISSING", check.found) for check in found])
            for check in missing:
                printer.line(f"{check.name}: {check.remedy}.")
            printer.line("Everything that weldworth needs is there." if not missing else f"Missing: {len(missing)}.")
    if missing:
        raise typer.Exit(1)
