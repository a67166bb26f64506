"""Tables of business numbers: CSV and TOML files whose every row says where it came from.

A table is a CSV file with the columns `basis`, `source` and `as_of` beside its own. `basis` is one of
measured, published, quoted, guess. A shop may lay its own folder over the shipped one: a file there replaces the
shipped file of the same name.
"""

from __future__ import annotations

import csv
import hashlib
import io
import tomllib
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TypeVar, cast

from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import nearest

BASES = ("measured", "published", "quoted", "guess")
SHIPPED = Path(__file__).parent
Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table, with the place it came from for messages."""

    cells: Mapping[str, str]
    where: str

    def text(self, column: str) -> str:
        """The cell as text; raises BadInput when the table has no such column."""
        if column not in self.cells:
            raise BadInput([Problem(self.where, f"column {column!r} is missing")])
        return self.cells[column].strip()

    def number(self, column: str, *, low: float | None = None, high: float | None = None) -> float:
        """The cell as a number within [low, high]; raises BadInput naming file, line, value and bounds."""
        text = self.text(column)
        try:
            value = float(text)
        except ValueError:
            raise BadInput([Problem(self.where, f"{column} is {text!r}; give a number")]) from None
        if (low is not None and value < low) or (high is not None and value > high) or value != value:
            raise BadInput([Problem(self.where, f"{column} is {text}; give a number from {low} to {high}")])
        return value


@dataclass(frozen=True, eq=False)
class Tables:
    """The shipped tables, with a shop's own folder laid over them where one is given. Read once, then held: make a new one
    after a table has changed."""

    overlay: Path | None = None
    _read: dict[str, object] = field(default_factory=dict, repr=False)
    _made: dict[Hashable, object] = field(default_factory=dict, repr=False)

    def path(self, name: str) -> Path:
        """Where the file `name` (such as "signs.csv" or "plans/pickup.toml") is read from."""
        if self.overlay is not None and (self.overlay / name).is_file():
            return self.overlay / name
        path = SHIPPED / name
        if not path.is_file():
            raise BadInput([Problem(name, "there is no such table")])
        return path

    def rows(self, name: str, columns: tuple[str, ...]) -> list[Row]:
        """The rows of the CSV table `name`, which must have `columns` beside basis, source and as_of.

        Each table is read once for the life of this object. Raises BadInput with every problem found: missing or unknown
        columns, no source, unknown basis.
        """
        known = self._read.get(name)
        if not isinstance(known, tuple) or known[0] != columns:
            known = self._read[name] = (columns, self._rows(name, columns))
        return list(known[1])

    def _rows(self, name: str, columns: tuple[str, ...]) -> list[Row]:
        path = self.path(name)
        reader = csv.DictReader(io.StringIO(path.read_text(encoding="utf-8")))
        wanted = {*columns, "basis", "source", "as_of"}
        have = set(reader.fieldnames or ())
        problems = [Problem(name, f"column {column!r} is missing") for column in sorted(wanted - have)]
        for column in sorted(have - wanted):
            best = nearest(column, wanted)
            problems.append(Problem(name, f"column {column!r} is not known" + (f"; nearest: {best!r}" if best else "")))
        if problems:
            raise BadInput(problems)
        rows = []
        for number, cells in enumerate(reader, start=2):
            where = f"{name} line {number}"
            if cells["basis"] not in BASES:
                problems.append(Problem(where, f"basis {cells['basis']!r} is not one of {', '.join(BASES)}"))
            if not (cells["source"] or "").strip():
                problems.append(Problem(where, "source is empty; say where the numbers come from"))
            rows.append(Row(cells, where))
        if problems:
            raise BadInput(problems)
        return rows

    def toml(self, name: str) -> dict[str, object]:
        """The TOML file `name`, read once; not to be changed. Raises BadInput with its line where it cannot be parsed."""
        known = self._read.get(name)
        if isinstance(known, dict):
            return known
        try:
            parsed = tomllib.loads(self.path(name).read_text(encoding="utf-8"))
            self._read[name] = parsed
            return parsed
        except tomllib.TOMLDecodeError as error:
            raise BadInput([Problem(name, f"cannot be read as TOML: {error}")]) from None

    def once(self, key: Hashable, work: Callable[[], Made]) -> Made:
        """What `work` makes of these tables alone, made once and held under `key`; not to be changed. Errors are not held."""
        if key not in self._made:
            self._made[key] = work()
        return cast(Made, self._made[key])

    def plan_names(self) -> list[str]:
        """The bodies that have a plan: file names without .toml of the shipped and the shop's own plans folder."""
        folders = [SHIPPED / "plans"] + ([self.overlay / "plans"] if self.overlay is not None else [])
        return sorted({path.stem for folder in folders if folder.is_dir() for path in folder.glob("*.toml")})

    @cached_property
    def version(self) -> str:
        """Twelve hex digits over the bytes of every table, so that a result can name what it was computed with."""
        digest = hashlib.sha256()
        kinds = ("**/*.csv", "**/*.toml", "**/*.npz")
        names = {str(p.relative_to(SHIPPED)) for pattern in kinds for p in SHIPPED.glob(pattern)}
        if self.overlay is not None:
            names |= {str(p.relative_to(self.overlay)) for pattern in kinds for p in self.overlay.glob(pattern)}
        for name in sorted(names):
            digest.update(name.encode() + b"\0" + self.path(name).read_bytes() + b"\0")
        return digest.hexdigest()[:12]


def load_tables(overlay: Path | None = None) -> Tables:
    """The shipped tables, with the shop's own folder `overlay` laid over them."""
    return Tables(overlay)
