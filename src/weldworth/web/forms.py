"""What was posted, read key by key; problems are found for the field that they belong to."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from starlette.datastructures import FormData, UploadFile

from weldworth.core.errors import BadInput, Problem

_NUMBER = re.compile(r"[−-]?\d+(?:\.\d+)?|[−-]?\.\d+")


@dataclass(frozen=True)
class Problems:
    """What was wrong with a form. Problems whose `where` ends in a field's name stand beside that field."""

    all: tuple[Problem, ...]
    fields: frozenset[str] = frozenset()

    def at(self, name: str) -> tuple[Problem, ...]:
        """The problems of one field."""
        return tuple(_worded(problem, name) for problem in self.all if self._field(problem) == name)

    @property
    def loose(self) -> tuple[Problem, ...]:
        """The problems of no field of this form."""
        return tuple(problem for problem in self.all if self._field(problem) is None)

    def _field(self, problem: Problem) -> str | None:
        """The field that a problem is about: named by `where`, or by the first word of its sentence."""
        ends = [problem.where, re.split(r"[:\s]+", problem.where)[-1], re.split(r"[\s,]+", problem.text, maxsplit=1)[0]]
        path = re.split(r"[:\s]+", problem.where)
        tries = [*ends, ".".join(path[-2:]), f"{path[-1]}.{ends[-1]}", ".".join([*path[-2:], ends[-1]])]
        return next((one for one in tries if one in self.fields), None)


def _worded(problem: Problem, name: str) -> Problem:
    """The problem without the field's own key at its beginning: it stands beside the label."""
    key = name.rpartition(".")[2]
    rest = problem.text.removeprefix(key)
    words = key.replace("_", " ")
    return Problem(problem.where, words[:1].upper() + words[1:] + rest) if rest != problem.text and rest[:1] == " " else problem


class Posted:
    """The text fields of a form. Nothing is changed but blanks at the ends."""

    def __init__(self, form: FormData) -> None:
        self.form = form
        self.problems: list[Problem] = []

    def text(self, name: str) -> str:
        """The field as text, "" where it is not there."""
        value = self.form.get(name)
        return value.strip() if isinstance(value, str) else ""

    def texts(self, name: str) -> list[str]:
        """Every value of a field that is there several times."""
        return [value.strip() for value in self.form.getlist(name) if isinstance(value, str)]

    def files(self, name: str) -> list[UploadFile]:
        """The files sent under this name."""
        return [value for value in self.form.getlist(name) if isinstance(value, UploadFile) and value.filename]

    def ticked(self, name: str) -> bool:
        """Whether a box is ticked."""
        return self.text(name) not in ("", "no", "off", "0")

    def number(self, name: str) -> float | None:
        """The field as a number (thousands may be parted by commas or blanks), or None where it is empty.

        What is no number is kept as a problem of the field.
        """
        text = self.text(name)
        if not text:
            return None
        found = number_in(text)
        if found is None:
            self.problems.append(Problem(name, f"{text!r} is not a number; write it like 4,700 or 0.15"))
        return found

    def values(self, names: Iterable[str]) -> dict[str, str]:
        """The fields as typed, to be shown again."""
        return {name: self.text(name) for name in names}

    def check(self) -> None:
        """Raises BadInput with the problems found so far, if any."""
        if self.problems:
            raise BadInput(self.problems)


def number_in(text: str) -> float | None:
    """A number as people write it.

    >>> number_in("$4,700"), number_in("1 250.50"), number_in("20 %"), number_in("ten")
    (4700.0, 1250.5, 0.2, None)
    """
    share = text.rstrip().endswith("%")
    plain = re.sub(r"(?<=\d)[,  ](?=\d{3}\b)", "", text.strip().strip("$€£% "))
    if not _NUMBER.fullmatch(plain):
        return None
    value = float(plain.replace("−", "-"))
    return value / 100 if share else value


def problems_for(error: BadInput, fields: Iterable[str] | Mapping[str, object]) -> Problems:
    """The problems of an error, for a form with these fields."""
    return Problems(error.problems, frozenset(fields))
