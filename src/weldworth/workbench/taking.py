"""A dossier folder as entries, and entries as a dossier folder: what goes out comes in again the same."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path, PurePosixPath

from weldworth.ceiling.columns import ORDERS, Matching
from weldworth.core.errors import NotFound
from weldworth.workbench.fold import OUTLINE, RECORDS, WHOLE
from weldworth.workbench.history import KIND, LEDGER, MEMOS, history_body, memos_of, names_in, read_history, with_name
from weldworth.workbench.ledger import REPLACES, Entry, Json, canonical
from weldworth.workbench.lines import CandidateView
from weldworth.workbench.ports import CandidateRow, Person, PictureFolder, TablesVersion, Taken, TermsVersion
from weldworth.workbench.toml import toml_text

Items = list[tuple[str, dict[str, object]]]


def items_of(
    taken: Taken, pictures: PictureFolder, frames: Callable[[Path, str], list[tuple[str, bytes]]] | None = None
) -> tuple[dict[str, object], Items]:
    """The body of the opening and the entries that follow it; the pictures are kept on the way.

    frames : gives the frames of a video as pictures with their names, which are taken in beside it.
    """
    data = taken.data
    opened = _plain(_table(data.get("vehicle")))
    before = read_history(taken.ledger) if taken.ledger else []
    memos = memos_of(before, taken.memos)
    items: Items = [(KIND, history_body(before, names_in(taken.ledger or "")))] if before else []
    items += [("residence", _plain(item)) for item in _items(data, "history")]
    said = {str(item["file"]).removeprefix("pictures/"): _plain(item) for item in _items(data, "picture")}
    for name, path in taken.pictures.items():
        facts = {key: value for key, value in said.get(name, {}).items() if key != "file"}
        items.append(("picture", {**facts, "sha256": pictures.put(path.read_bytes()), "name": name}))
    for name, path in taken.pictures.items():
        for frame, pixels in frames(path, name) if frames is not None else ():
            if frame not in taken.pictures:
                items.append(("picture", {"sha256": pictures.put(pixels), "name": frame}))
    named: dict[tuple[str, str], int] = {}
    for kind in RECORDS:
        for number, item in enumerate(_items(data, kind), start=1):
            body = _plain(item)
            own, replaced = body.pop("id", None), body.pop(REPLACES, None)
            if isinstance(body.get("picture"), str):
                body["picture"] = str(body["picture"]).removeprefix("pictures/")
            if replaced is not None:
                body[REPLACES] = named[(kind, str(replaced))]
            items.append((kind, body))
            seq = len(items) + 1
            named[(kind, f"{kind} {number}")] = seq
            if own is not None:
                named[(kind, str(own))] = seq
    items += [(kind, _plain(_table(data[kind]))) for kind in WHOLE if kind in data]
    texts = {"comparables": taken.comparables, "advert": taken.advert}
    items += [(kind, {"text": text}) for kind, text in texts.items() if text]
    items += [("memo", {**told, "sha256": pictures.put(path.read_bytes())}) for path, told in memos]
    return opened, items


def _table(value: object) -> Mapping[str, object]:
    return value if isinstance(value, Mapping) else {}


def _items(data: Json, name: str) -> list[Mapping[str, object]]:
    value = data.get(name, [])
    return [item for item in value if isinstance(item, Mapping)] if isinstance(value, list) else []


def _plain(table: Mapping[str, object]) -> dict[str, object]:
    """The table as JSON values: days and moments as text."""
    return {key: _value(value) for key, value in table.items()}


def _value(value: object) -> object:
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, list):
        return [_value(item) for item in value]
    return _plain(value) if isinstance(value, Mapping) else value


def files_of(view: CandidateView, pictures: PictureFolder, names: Mapping[str, str]) -> Iterator[tuple[str, bytes | Path]]:
    """The files of a dossier folder by their paths in it, and the whole ledger beside them. names : of people, by id."""
    data = {name: _exported(value) for name, value in view.data.items()}
    yield "candidate.toml", toml_text(data).encode()
    if view.dossier.comparables:
        yield "comparables.csv", view.dossier.comparables.encode()
    if view.dossier.advert:
        yield "advert.txt", view.dossier.advert.encode()
    for picture in view.pictures:
        if not pictures.exists(picture.sha256):
            raise NotFound(f"the original of picture {picture.name!r} is not in the picture folder; take it in again")
        yield f"pictures/{picture.name}", pictures.path(picture.sha256)
    for memo in (entry.body for entry in view.standing if entry.kind == "memo"):
        if not pictures.exists(str(memo["sha256"])):
            raise NotFound(f"the original of memo {memo['name']!r} is not in the picture folder")
        yield f"{MEMOS}/{memo['name']}", pictures.path(str(memo["sha256"]))
    yield LEDGER, "".join(canonical(with_name(entry, names)) + "\n" for entry in view.entries).encode()


def _exported(value: object) -> object:
    """Without what a dossier folder does not know."""
    if isinstance(value, list):
        return [_exported(item) for item in value]
    if isinstance(value, Mapping):
        return {key: item for key, item in value.items() if key != OUTLINE and item is not None}
    return value


def shop_files(
    people: Iterable[Person], terms: Sequence[TermsVersion], tables: Sequence[TablesVersion]
) -> Iterator[tuple[str, bytes]]:
    """The shop beside its candidates: people without their passwords, and every version of terms and tables."""
    shown = [{key: value for key, value in asdict(person).items() if key != "password"} for person in people]
    for name, value in (("people", shown), ("terms", [asdict(t) for t in terms]), ("tables", [asdict(t) for t in tables])):
        yield f"shop/{name}.json", (json.dumps(value, indent=2, sort_keys=True) + "\n").encode()


def folder_names(rows: Iterable[CandidateRow]) -> list[tuple[CandidateRow, str]]:
    """A folder name for each candidate: its name in plain letters, with a part of its id."""
    return [(row, f"{_slug(row.name)}-{row.id[:6]}") for row in rows]


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:40] or "candidate"


def matched_in(entries: Iterable[Entry]) -> Matching:
    """How the headings and words of sales tables were matched in these entries of kind "comparables", the newest first."""
    columns: dict[str, str] = {}
    states: dict[str, str] = {}
    dates = ""
    for entry in entries:
        for known, key in ((columns, "columns"), (states, "states")):
            given = entry.body.get(key)
            for word, meaning in given.items() if isinstance(given, Mapping) else ():
                known.setdefault(str(word), str(meaning))
        dates = dates or str(entry.body.get("dates") or "")
    return Matching(columns, states, dates or ORDERS[0])


def free_name(name: str, taken: Iterable[str]) -> str:
    """The file's own name without folders, with a number before its ending where it is taken."""
    bare = PurePosixPath(name.replace("\\", "/")).name.lstrip(".") or "picture.jpg"
    path, known, number, free = PurePosixPath(bare), set(taken), 2, bare
    while free in known:
        free, number = f"{path.stem}-{number}{path.suffix}", number + 1
    return free
