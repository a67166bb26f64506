"""What was recorded about a candidate before it came here, as an export brought it: verified, kept and shown, never weighed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import cast

from weldworth.core.errors import BadInput, Problem
from weldworth.workbench.ledger import Entry, Json, entry_json, entry_of, standing_entries, verify

KIND = "history"
LEDGER, MEMOS = "ledger.jsonl", "memos"
BY_NAME, LONGEST_NAME = "by_name", 80
REMEDY = "export the candidate again, or take the file out of the folder: then it comes in without its history"


def read_history(text: str) -> list[Entry]:
    """The entries of a ledger.jsonl, oldest first, one a line.

    Raises BadInput naming each line that cannot be read, or else each place where the chain of hashes does not hold.
    """
    entries: list[Entry] = []
    problems: list[Problem] = []
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            value = json.loads(line)
            entry = entry_of(value)
            if not isinstance(entry.body, dict) or not isinstance(value["seq"], int):
                raise TypeError
            entries.append(entry)
        except (ValueError, TypeError, KeyError, RecursionError):
            problems.append(Problem(f"{LEDGER} line {number}", f"{line[:40]!r} is no record of a ledger; {REMEDY}"))
    if problems:
        raise BadInput(problems)
    broken = [Problem(f"{LEDGER}: {problem.where}", f"{problem.text}; {REMEDY}") for problem in verify(entries)]
    if len({entry.candidate for entry in entries}) > 1:
        broken.append(Problem(LEDGER, f"holds the records of several candidates; {REMEDY}"))
    if broken:
        raise BadInput(broken)
    return entries


def with_name(entry: Entry, names: Mapping[str, str]) -> dict[str, object]:
    """The entry as a line of ledger.jsonl: with the name of who recorded it beside it, where it is known. The chain of hashes
    does not cover names."""
    return {**entry_json(entry), **({BY_NAME: names[entry.by]} if entry.by in names else {})}


def names_in(text: str) -> dict[str, str]:
    """Person's id -> name, as a ledger.jsonl that was read gives them."""
    lines = [json.loads(line) for line in text.splitlines()]
    return _readable({str(line["by"]): line.get(BY_NAME) for line in lines})


def _readable(names: object) -> dict[str, str]:
    """The names that are text, in one line and not overlong: whoever wrote the file may have written anything."""
    told = names.items() if isinstance(names, Mapping) else ()
    return {str(id): " ".join(name.split())[:LONGEST_NAME] for id, name in told if isinstance(name, str) and name.strip()}


def history_body(entries: Sequence[Entry], names: Mapping[str, str]) -> dict[str, object]:
    """The body of the entry that keeps them. head : the hash of the last of them. names : of those who recorded them."""
    return {"head": entries[-1].hash, "entries": [entry_json(entry) for entry in entries], "names": dict(names)}


def names_before(entry: Entry) -> Mapping[str, str]:
    """Person's id -> name, as an entry of this kind keeps them."""
    return _readable(entry.body.get("names"))


def entries_before(entry: Entry) -> list[Entry]:
    """The entries that an entry of this kind keeps."""
    return [entry_of(value) for value in cast(Sequence[Json], entry.body["entries"])]


def memos_of(entries: Sequence[Entry], files: Mapping[str, Path]) -> list[tuple[Path, dict[str, object]]]:
    """The voice memos that stand in the history, each with its file. files : name -> file, as they came beside it.

    Raises BadInput for a memo whose file is missing or another, and for a file that the history does not name.
    """
    problems, found = [], []
    told = {str(entry.body["name"]): entry for entry in standing_entries(entries) if entry.kind == "memo"}
    for name in sorted({*told, *files}):
        where = f"{MEMOS}/{name}"
        if name not in files:
            problems.append(Problem(where, f"is named in {LEDGER} and missing; {REMEDY}"))
        elif name not in told:
            problems.append(Problem(where, f"is not named in {LEDGER}; take it out of the folder"))
        elif hashlib.sha256(files[name].read_bytes()).hexdigest() != told[name].body["sha256"]:
            problems.append(Problem(where, f"is not the memo that was recorded; {REMEDY}"))
        else:
            found.append((files[name], told[name].facts))
    if problems:
        raise BadInput(problems)
    return found
