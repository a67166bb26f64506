"""What the documents promise to name, they name; what must not be in the repository is not."""

from __future__ import annotations

import csv
import importlib.util
import json
import re
import tomllib
from pathlib import Path

import pytest

import docs
import figures
from measures.figure import Figure
from weldworth.belief.sight import lexicon
from weldworth.core import errors
from weldworth.evidence.questions import questions
from weldworth.exposure.cues import known_words, read_cues
from weldworth.tables.load import BASES, SHIPPED, load_tables
from weldworth.workbench.deal import SHOP_KEYS
from weldworth.workbench.document import RESALE_KEYS, SALE_KEYS, VEHICLE_KEYS
from weldworth.workbench.recording import ANSWER_KEYS, FINDING_KEYS, MEASURED, READING_KEYS, READING_UNITS
from weldworth.workbench.residences import AIR_KEYS, CUES, HISTORY_KEYS

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
LEFT_OUT = re.compile(r"\.venv.*|\.git|build|node_modules|shared|__pycache__|.*_cache|\.hypothesis")
TABLES = sorted(SHIPPED.rglob("*.csv"))
LOCKS = ("requirements.lock", "requirements-dev.lock")


def kept_files() -> list[Path]:
    """The files of the repository, without caches and what is installed."""
    found = (path for path in ROOT.rglob("*") if path.is_file())
    return [path for path in found if not any(LEFT_OUT.fullmatch(part) for part in path.relative_to(ROOT).parts)]


def has_cli() -> bool:
    return (SHIPPED.parent / "cli" / "main.py").is_file() and importlib.util.find_spec("typer") is not None


@pytest.mark.parametrize("kind", [errors.WeldworthError, *errors.WeldworthError.__subclasses__()])
def test_every_kind_of_error_is_in_the_documents(kind: type) -> None:
    assert f"`{kind.__name__}`" in (DOCS / "errors.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", sorted(docs.PAGES))
def test_every_generated_page_is_as_make_docs_writes_it(name: str) -> None:
    if name == "cli.md" and not has_cli():
        pytest.skip("the command line is not there yet")
    assert (DOCS / name).read_text(encoding="utf-8") == docs.PAGES[name](), f"docs/{name} is behind: run make docs"


def test_every_command_is_in_the_documents() -> None:
    if not has_cli():
        pytest.skip("the command line is not there yet")
    import typer

    from weldworth.cli.main import app

    page = (DOCS / "cli.md").read_text(encoding="utf-8")
    assert [name for name in typer.main.get_command(app).commands if f"`weldworth {name}`" not in page] == []  # type: ignore[attr-defined]


def test_every_key_of_a_dossier_is_in_the_documents() -> None:
    page = (DOCS / "dossier.md").read_text(encoding="utf-8")
    keys = {*VEHICLE_KEYS, *HISTORY_KEYS, *FINDING_KEYS, *READING_KEYS, *ANSWER_KEYS, *SALE_KEYS, *RESALE_KEYS, *SHOP_KEYS}
    assert sorted(key for key in keys if f"`{key}`" not in page) == []
    assert [key for key in AIR_KEYS if key not in page] == []


def test_every_word_that_a_dossier_may_use_is_in_the_documents() -> None:
    page = (DOCS / "dossier.md").read_text(encoding="utf-8")
    words = lexicon(load_tables())
    signs = [id for id, sign in words.signs.items() if sign.kind not in MEASURED]
    kept = [word for kind in CUES for word in known_words(read_cues(load_tables()))[kind]]
    assert [
        word for word in (*signs, *words.sources, *kept, *load_tables().plan_names(), *READING_UNITS) if f"`{word}`" not in page
    ] == []


def test_every_question_and_every_answer_is_in_the_documents() -> None:
    page = (DOCS / "questions.md").read_text(encoding="utf-8")
    for question in questions(load_tables()).values():
        assert f"`{question.id}`" in page
        assert all(f"- `{answer}`: {words}" in page for answer, words in question.answers.items()), question.id


@pytest.mark.parametrize("path", TABLES, ids=lambda path: str(path.relative_to(SHIPPED)))
def test_every_row_of_every_table_says_on_what_basis_it_stands_and_from_where(path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows, "a table without rows"
    for line, row in enumerate(rows, start=2):
        assert None not in row and None not in row.values(), f"line {line} has too many or too few cells"
        assert row["basis"] in BASES, f"line {line}: basis {row['basis']!r}"
        assert row["source"].strip(), f"line {line}: no source"
        assert re.fullmatch(r"\d{4}(-\d{2}){0,2}", row["as_of"]), f"line {line}: as_of {row['as_of']!r}"


@pytest.mark.parametrize("path", sorted(SHIPPED.rglob("*.toml")), ids=lambda path: str(path.relative_to(SHIPPED)))
def test_every_basis_in_a_toml_table_is_a_known_one(path: Path) -> None:
    found = list(docs._bases(tomllib.loads(path.read_text(encoding="utf-8"))))
    assert found and set(found) <= set(BASES)


@pytest.mark.parametrize("name", LOCKS)
def test_a_lock_file_holds_a_hash_for_each_library_and_no_address(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    assert "://" not in text
    entries = re.split(r"(?m)^(?=\S)", text)[1:]
    assert len(entries) > 10 and all("--hash=sha256:" in entry for entry in entries)


def test_the_two_lock_files_agree() -> None:
    plain, dev = (dict(re.findall(r"(?m)^([a-z0-9.-]+)==([^ ]+)", (ROOT / name).read_text(encoding="utf-8"))) for name in LOCKS)
    dev_first = dict(reversed(re.findall(r"(?m)^([a-z0-9.-]+)==([^ ]+)", (ROOT / LOCKS[1]).read_text(encoding="utf-8"))))
    assert plain and all(version in (dev.get(library), dev_first.get(library)) for library, version in plain.items())


def test_no_file_names_a_path_of_this_machine() -> None:
    paths = [f"{path}/".encode() for path in (ROOT, Path.home()) if len(path.parts) > 2 or path == Path("/root")]
    guilty = [str(path.relative_to(ROOT)) for path in kept_files() if any(word in path.read_bytes() for word in paths)]
    assert guilty == []


def test_the_ci_runs_the_test_command_of_the_readme() -> None:
    assert re.search(r"(?m)^make test$", (ROOT / ".ci" / "run").read_text(encoding="utf-8"))
    readme = ROOT / "README.md"
    if not readme.is_file():
        pytest.skip("the README is not there yet")
    assert {"make demo", "make test"} <= set(re.findall(r"make [a-z]+", readme.read_text(encoding="utf-8")))


def test_every_make_target_is_explained_and_declared() -> None:
    text = (ROOT / "Makefile").read_text(encoding="utf-8")
    declared = set(re.search(r"(?m)^\.PHONY: (.*)$", text)[1].split())  # type: ignore[index]
    assert declared == set(re.findall(r"(?m)^([a-z]+):.*## ", text))
    assert {"setup", "demo", "test", "bench", "figures", "lint", "docs", "lock", "clean"} <= declared


def test_a_figure_that_misses_its_target_is_named_at_the_top_and_kept() -> None:
    kept = Figure("largest difference", 3.2e-7, "", "at most 1e-6", True, "both engines on one network", "five plans")
    missed = Figure("scenarios in band", 9, "of 12", "at least 10", False, "each weighed", "twelve | invented vehicles")
    page = figures.as_page([kept, missed])
    assert "1 of 2 meet their target" in page and "Missed: scenarios in band." in page
    assert "| scenarios in band | 9 of 12 | at least 10 | **no** | each weighed; twelve \\| invented vehicles |" in page
    assert [set(item) for item in json.loads(figures.as_json([kept]))] == [
        {"name", "value", "unit", "target", "met", "how", "on"}
    ]
