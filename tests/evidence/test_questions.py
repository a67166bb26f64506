"""The questions to a seller: each can be answered, and what an answer does is laid down only for answers that are listed."""

from __future__ import annotations

from pathlib import Path

import pytest

from weldworth.core.errors import BadInput
from weldworth.evidence.questions import REFUSED, questions
from weldworth.tables.load import load_tables

QUESTIONS = questions(load_tables())


def test_there_are_twenty_five_and_each_has_answers_to_choose_from() -> None:
    assert len(QUESTIONS) == 25
    assert all(len(question.answers) >= 2 and REFUSED not in question.answers for question in QUESTIONS.values())


def test_any_question_may_be_refused_and_free_words_are_not_weighed() -> None:
    assert all(question.weighed(REFUSED) and not question.weighed("ask my brother") for question in QUESTIONS.values())


def test_what_an_answer_does_is_laid_down_only_for_listed_answers() -> None:
    rows = load_tables().rows("answers.csv", ("question", "answer", "effect", "target", "what", "amount"))
    astray = [row.where for row in rows if row.text("question") not in QUESTIONS]
    astray += [row.where for row in rows if not QUESTIONS[row.text("question")].weighed(row.text("answer"))]
    assert astray == []


def test_a_question_that_sends_someone_to_acid_fuel_or_the_underside_carries_its_caution() -> None:
    assert all(
        QUESTIONS[id].caution for id in ("battery-place", "fuel", "cold-start", "rear-crossmember", "jacked", "windshield-out")
    )
    assert "acid" in QUESTIONS["battery-place"].caution and "jack" in QUESTIONS["rear-crossmember"].caution


def test_a_table_of_questions_that_cannot_be_read_is_refused_row_by_row(tmp_path: Path) -> None:
    head = "question,text,caution,answers,basis,source,as_of\n"
    tail = ',guess,"common practice, no source",2026-11\n'
    rows = f"mats,Mats?,,yes: lifted{tail}mats,Again?,,yes: lifted{tail}fuel,Fuel?,,yes: fresh | no{tail}"
    (tmp_path / "questions.csv").write_text(head + rows, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        questions(load_tables(tmp_path))
    told = [str(problem) for problem in caught.value.problems]
    assert told == [
        "questions.csv line 3: question 'mats' is empty or listed already; give each question its own id",
        "questions.csv line 4: answer 'no' cannot be read; write id: words, each id once, with ' | ' between",
    ]
