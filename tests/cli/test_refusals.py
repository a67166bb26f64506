"""What is refused, and how: one line each with place, value and remedy, an exit code, nothing written, never a traceback."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from weldworth.cli.errors import EXIT_CODE, KIND, exit_code, problems_of
from weldworth.core.errors import BadInput, Conflict, NotFound, Problem, WeldworthError

Run = Callable[..., Any]


def refused(run: Run, *words: object) -> tuple[int, list[str]]:
    """Exit code and the lines on standard error; nothing stands on standard output."""
    result = run(*words)
    assert result.stdout == "" and "Traceback" not in result.stderr
    return result.exit_code, result.stderr.splitlines()


@pytest.mark.parametrize("kind", WeldworthError.__subclasses__())
def test_every_kind_of_error_has_an_exit_code_and_a_word(kind: type[WeldworthError]) -> None:
    assert kind in EXIT_CODE and kind in KIND


@pytest.mark.parametrize(("error", "code"), [(BadInput("x"), 2), (NotFound("x"), 3), (Conflict("x"), 4), (KeyError("x"), 1)])
def test_the_exit_codes_are_two_three_four_and_one_for_the_rest(error: Exception, code: int) -> None:
    assert exit_code(error) == code and len(problems_of(error)) == 1


@pytest.mark.parametrize(
    ("error", "code", "kind", "where"),
    [
        (BadInput([Problem("candidate.toml: sale", "price is -1"), "and more"]), 2, "bad-input", "candidate.toml: sale"),
        (NotFound("nothing there"), 3, "not-found", ""),
        (Conflict("someone else"), 4, "conflict", ""),
        (RuntimeError("wheel came off"), 1, "fault", "weldworth"),
    ],
)
def test_each_error_is_one_json_shape_or_lines_with_its_exit_code(
    run: Run, dossier: Path, monkeypatch: pytest.MonkeyPatch, error: Exception, code: int, kind: str, where: str
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("weldworth.cli.weigh.read_dossier", fail)
    result = run("weigh", dossier, "--json")
    found = json.loads(result.stdout)
    assert result.exit_code == code and result.stderr == "" and list(found) == ["error"]
    assert set(found["error"]) == {"kind", "problems"} and found["error"]["kind"] == kind
    assert all(set(problem) == {"where", "text"} for problem in found["error"]["problems"])
    assert found["error"]["problems"][0]["where"] == where
    assert refused(run, "weigh", dossier) == (code, [str(problem) for problem in problems_of(error)])


def test_a_fault_of_the_program_names_itself_and_how_to_report_it(
    run: Run, dossier: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("division by\nzero")

    monkeypatch.setattr("weldworth.cli.weigh.weigh", fail)
    code, lines = refused(run, "weigh", dossier)
    assert code == 1 and len(lines) == 1
    assert "ZeroDivisionError: division by zero" in lines[0] and "report" in lines[0] and "weldworth doctor" in lines[0]


def test_a_folder_that_is_not_there_is_not_found_and_the_nearest_is_named(run: Run, dossier: Path) -> None:
    code, lines = refused(run, "weigh", dossier.parent / "tamarak")
    assert code == 3 and "there is no such folder" in lines[0] and "'tamarack'" in lines[0]


def test_everything_wrong_in_a_dossier_is_said_in_one_run(run: Run, dossier: Path) -> None:
    path = dossier / "candidate.toml"
    text = (
        path.read_text(encoding="utf-8").replace("bubbling", "bubling").replace("price = 55000", 'price = -5\nbuyer_fee = "lots"')
    )
    path.write_text(text.replace("storage", "storrage"), encoding="utf-8")
    code, lines = refused(run, "weigh", dossier)
    assert code == 2 and len(lines) == 4
    assert all(line.startswith("candidate.toml: ") for line in lines)
    assert any("'bubbling'" in line for line in lines) and any("'storage'" in line for line in lines)


def test_a_dossier_that_says_nothing_of_the_resale_is_told_what_to_add(run: Run, dossier: Path) -> None:
    path = dossier / "candidate.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("[resale]")] + text[text.index("[shop]") :], encoding="utf-8")
    code, lines = refused(run, "asks", dossier)
    assert code == 2 and "add [resale]" in lines[0]


def test_a_zone_that_is_not_known_is_refused_with_the_nearest(run: Run, dossier: Path, zone: str) -> None:
    code, lines = refused(run, "weigh", dossier, "--zone", zone + "x")
    assert code == 2 and lines[0].startswith("--zone: ") and repr(zone) in lines[0]


@pytest.mark.parametrize(
    ("name", "remedy"),
    [("missing/report.pdf", "make it"), ("report.txt", "report.pdf"), (".", "such as"), ("a.pdf", "is a folder")],
)
def test_a_report_that_cannot_be_written_there_is_refused_before_any_work(
    run: Run, dossier: Path, tmp_path: Path, name: str, remedy: str
) -> None:
    (tmp_path / "a.pdf").mkdir()
    before = sorted(tmp_path.rglob("*"))
    code, lines = refused(run, "weigh", dossier, "--report", tmp_path / name)
    assert code == 2 and lines[0].startswith("--report: ") and remedy in lines[0]
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_leave_to_write_is_refused(run: Run, dossier: Path, tmp_path: Path) -> None:
    shut = tmp_path / "shut"
    shut.mkdir(mode=0o500)
    code, lines = refused(run, "weigh", dossier, "--report", shut / "a.pdf")
    assert code == 2 and "permissions" in lines[0]


def test_no_report_is_left_behind_when_the_dossier_is_refused(run: Run, dossier: Path, tmp_path: Path) -> None:
    (dossier / "candidate.toml").write_text("[vehicle]\n", encoding="utf-8")
    target = tmp_path / "report.pdf"
    assert run("weigh", dossier, "--report", target).exit_code == 2 and not target.exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("weigh",), "Missing argument 'DOSSIER'"),
        (("wiegh", "x"), "Did you mean"),
        (("weigh", "x", "--sed", "1"), "--seed"),
        (("weigh", "x", "--seed", "-1"), "-1"),
        (("asks", "x", "--count", "0"), "0"),
        (("number", "X", "--model-year", "soon"), "soon"),
    ],
)
def test_a_wrong_word_on_the_command_line_is_two_and_one_line_with_the_help_to_ask_for(
    run: Run, words: tuple[str, ...], told: str
) -> None:
    code, lines = refused(run, *words)
    assert code == 2 and len(lines) == 1 and told in lines[0] and lines[0].endswith("--help")
    found = json.loads(run(*words, "--json").stdout)
    assert found["error"]["kind"] == "usage" and told in found["error"]["problems"][0]["text"]


def test_a_day_that_is_none_is_refused_by_the_name_it_was_given_under(
    run: Run, dossier: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert refused(run, "weigh", dossier, "--today", "soon") == (2, ["--today: 'soon' is not a day; give one such as 2026-11-25"])
    monkeypatch.setenv("WELDWORTH_TODAY", "never")
    assert refused(run, "asks", dossier)[1][0].startswith("WELDWORTH_TODAY: 'never'")


def test_a_number_without_characters_is_refused(run: Run) -> None:
    code, lines = refused(run, "number", " - ")
    assert code == 2 and lines[0].startswith("number: ")
