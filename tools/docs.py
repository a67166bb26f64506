"""Write the generated pages of docs/: cli.md from the commands' own help, tables.md and questions.md from the tables."""

from __future__ import annotations

import csv
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from weldworth.tables.load import BASES, SHIPPED

DOCS = Path(__file__).resolve().parent.parent / "docs"
GENERATED = "Written by `make docs`; do not edit by hand.\n"
WIDTH = 100


def cli_page() -> str:
    """docs/cli.md: the help of weldworth and of each of its commands."""
    import typer

    from weldworth.cli.main import app

    app.rich_markup_mode = None
    root = typer.main.get_command(app)
    parts = ["# Commands\n", GENERATED]
    for name, text in _helps(root, "weldworth"):
        parts.append(f"## `{name}`\n\n```text\n{text}\n```\n")
    return "\n".join(parts)


def _helps(command: object, name: str, parent: object = None) -> Iterator[tuple[str, str]]:
    """The full name and help text of a click command and of all below it."""
    context = command.context_class(command, info_name=name.split()[-1], parent=parent, terminal_width=WIDTH)  # type: ignore[attr-defined]
    text = "\n".join(line.rstrip() for line in command.get_help(context).strip().splitlines())  # type: ignore[attr-defined]
    yield name, text
    for below, child in sorted(getattr(command, "commands", {}).items()):
        if not child.hidden:
            yield from _helps(child, f"{name} {below}", context)


def tables_page() -> str:
    """docs/tables.md: every shipped table, its columns and on what basis its rows stand."""
    parts = [
        "# Tables\n",
        GENERATED,
        "Every business number of weldworth stands in one of these files of `src/weldworth/tables/`. Each row says on what",
        "basis it stands: `measured`, `published`, `quoted` or `guess`. A shop's own folder may hold a file of the same name,",
        "which then replaces the shipped one.\n",
    ]
    for path in sorted(SHIPPED.rglob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            reader = csv.DictReader(file)
            count = Counter(row["basis"] for row in reader)
            columns = ", ".join(f"`{column}`" for column in reader.fieldnames or ())
        parts.append(f"## `{path.relative_to(SHIPPED)}`\n\n{_counted(count)}\n\nColumns: {columns}\n")
    for path in sorted(SHIPPED.rglob("*.toml")):
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        keys = ", ".join(f"`{key}`" for key in data)
        parts.append(f"## `{path.relative_to(SHIPPED)}`\n\n{_counted(Counter(_bases(data)))}\n\nKeys: {keys}\n")
    return "\n".join(parts)


def _counted(count: Counter[str]) -> str:
    """How many rows stand on each basis."""
    stated = ", ".join(f"{count[basis]} {basis}" for basis in BASES if count[basis])
    return f"{count.total()} rows with a basis" + (f": {stated}." if stated else ".")


def _bases(value: object) -> Iterator[str]:
    """Every `basis` in a nested TOML value."""
    if isinstance(value, dict):
        if isinstance(value.get("basis"), str):
            yield value["basis"]
        for item in value.values():
            yield from _bases(item)
    elif isinstance(value, list):
        for item in value:
            yield from _bases(item)


def questions_page() -> str:
    """docs/questions.md: the listed questions with their ids and the answers that are weighed."""
    from weldworth.evidence.questions import questions
    from weldworth.tables.load import load_tables

    parts = [
        "# Questions to a seller\n",
        GENERATED,
        'In `candidate.toml`: `[[answer]]` with `question = "<id>"` and `answer = "<id>"`. Every question also takes the',
        "answer `refused`. Any other text is kept with the record and not weighed.\n",
    ]
    for question in questions(load_tables()).values():
        answers = "\n".join(f"- `{answer}`: {words}" for answer, words in question.answers.items())
        caution = f"Caution sent with it: {question.caution}\n\n" if question.caution else ""
        parts.append(f"## `{question.id}`\n\n{question.text}\n\n{caution}{answers}\n")
    return "\n".join(parts)


def interface_page() -> str:
    """docs/api.md: the desk's interface for programs."""
    from weldworth.bootstrap import open_desk
    from weldworth.web.api.document import api_page
    from weldworth.web.app import create_app

    with TemporaryDirectory() as home:
        return api_page(create_app(open_desk(Path(home))).openapi())


PAGES: dict[str, Callable[[], str]] = {
    "cli.md": cli_page,
    "tables.md": tables_page,
    "questions.md": questions_page,
    "api.md": interface_page,
}


def main() -> None:
    for name, page in PAGES.items():
        (DOCS / name).write_text(page(), encoding="utf-8")
        print(f"wrote docs/{name}")


if __name__ == "__main__":
    main()
