"""The errors a caller may catch. Each message says what, which value, and what to do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with what was given: where it stands, and a sentence with value and remedy.

    where : file, then line, key or item as far as known, such as ``candidate.toml: finding 3``.
    text : one sentence naming the value and the remedy. code : a name for it where a page says it in words of its own.
    """

    where: str
    text: str
    code: str = ""

    def __str__(self) -> str:
        return f"{self.where}: {self.text}" if self.where else self.text


class WeldworthError(Exception):
    """Base of all errors that a caller may catch."""


class BadInput(WeldworthError):
    """The caller's data cannot be used; nothing was changed. Carries every problem found in one go."""

    def __init__(self, problems: str | Iterable[Problem | str]) -> None:
        items: Sequence[Problem | str] = [problems] if isinstance(problems, str) else list(problems)
        self.problems: tuple[Problem, ...] = tuple(p if isinstance(p, Problem) else Problem("", p) for p in items)
        super().__init__("\n".join(str(p) for p in self.problems))


class NotFound(WeldworthError):
    """No such file, folder, candidate or record."""


class Conflict(WeldworthError):
    """Someone else changed it first; read it again and retry."""


class NotAllowed(WeldworthError):
    """The person's role does not let them do this."""
