"""The listed questions to a seller, and the answers to each that are weighed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from weldworth.core.errors import BadInput, Problem
from weldworth.tables.load import Row, Tables

REFUSED = "refused"
_COLUMNS = ("question", "text", "caution", "answers")


@dataclass(frozen=True, slots=True)
class Question:
    """One question in the words sent to a seller.

    answers : id -> the answer in words; every question also takes `REFUSED`. caution : what to mind where it is done, or "".
    """

    id: str
    text: str
    caution: str
    answers: Mapping[str, str]

    def weighed(self, answer: str) -> bool:
        """Whether `answer` is one of the listed ones or a refusal; any other text is kept and not weighed."""
        return answer == REFUSED or answer in self.answers


def questions(tables: Tables) -> dict[str, Question]:
    """The questions of questions.csv by id, in the order in which they are asked.

    Raises BadInput with every row whose answers cannot be read or whose id is there already.
    """
    found: dict[str, Question] = {}
    problems: list[Problem] = []
    for row in tables.rows("questions.csv", _COLUMNS):
        id = row.text("question")
        if not id or id in found:
            problems.append(Problem(row.where, f"question {id!r} is empty or listed already; give each question its own id"))
        try:
            found[id] = Question(id, row.text("text"), row.text("caution"), _answers(row))
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return found


def _answers(row: Row) -> dict[str, str]:
    """The cell `id: words | id: words` as id -> words."""
    answers: dict[str, str] = {}
    for part in row.text("answers").split(" | "):
        id, colon, words = part.partition(": ")
        if not colon or not id.strip() or id.strip() in answers:
            raise BadInput(
                [Problem(row.where, f"answer {part!r} cannot be read; write id: words, each id once, with ' | ' between")]
            )
        answers[id.strip()] = words.strip()
    return answers
