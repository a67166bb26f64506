"""A dossier folder as a Dossier. Reading only: nothing is ever written here.

mydossier/
  candidate.toml
  pictures/           jpg, png, webp, heic, mp4, mov
  comparables.csv     optional
  advert.txt          optional
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from weldworth.ceiling.comparables import read_comparables
from weldworth.ceiling.resale import resale_tables
from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.core.remark import Remark
from weldworth.core.words import nearest
from weldworth.evidence.pictures import Shown
from weldworth.evidence.records import Record
from weldworth.tables.load import Tables
from weldworth.vehicle.vehicle import Vehicle
from weldworth.workbench.document import Document, read_plans, read_resale, read_sale, read_shop, read_vehicle
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.history import LEDGER, MEMOS
from weldworth.workbench.ports import Taken
from weldworth.workbench.recording import RecordReader, known_words
from weldworth.workbench.residences import read_history
from weldworth.workbench.showing import read_picture

CANDIDATE, COMPARABLES, ADVERT, PICTURES = "candidate.toml", "comparables.csv", "advert.txt", "pictures"
PICTURE_ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif", ".mp4", ".mov")
LARGEST_TEXT, LARGEST_LEDGER = 4_000_000, 100_000_000


def read_dossier(path: str | Path, tables: Tables, *, today: date) -> Dossier:
    """The dossier in the folder `path`.

    today : dates after it are refused.

    Raises NotFound when there is no such folder, and BadInput with every problem found: each names file, key or item,
    value and remedy.
    """
    return _read(Path(path), tables, today)[0]


def take_dossier(path: str | Path, tables: Tables, *, today: date) -> Taken:
    """The same folder, checked in the same way and raising the same, as it is written: to be recorded."""
    folder = Path(path)
    dossier, data = _read(folder, tables, today)
    problems: list[Problem] = []
    ledger = _optional_text(folder / LEDGER, problems, LARGEST_LEDGER)
    if problems:
        raise BadInput(problems)
    memos = {path.name: path for path in sorted((folder / MEMOS).glob("*")) if path.is_file() and path.name[0] != "."}
    return Taken(dossier.folder, data, dossier.comparables, dossier.advert, dossier.files, dossier.remarks, ledger, memos)


def _read(folder: Path, tables: Tables, today: date) -> tuple[Dossier, dict[str, object]]:
    """The dossier, and candidate.toml as parsed."""
    problems: list[Problem] = []
    text = _candidate_text(folder, problems)
    pictures, remarks = _pictures(folder / PICTURES, problems)
    comparables, advert = (_optional_text(folder / name, problems) for name in (COMPARABLES, ADVERT))
    if comparables is not None:
        problems += _comparables_problems(comparables, tables, today)
    data = _parsed(text, problems) if text is not None else None
    if data is None:
        raise BadInput(problems)
    document = Document(CANDIDATE, data, today, problems)
    vehicle, built, repairs = read_vehicle(document, tables)
    records, shown, doubts = _records(document, vehicle, tables, pictures)
    residences = read_history(document, tables)
    sale, resale = read_sale(document, tables), read_resale(document)
    shop = read_shop(document, tables)
    if problems:
        raise BadInput(problems)
    dossier = Dossier(
        folder=folder.resolve().name,
        vehicle=vehicle,
        built=built,
        repairs=repairs,
        residences=residences,
        records=records,
        sale=sale,
        resale=resale,
        shop=shop,
        comparables=comparables,
        advert=advert,
        pictures=pictures,
        shown=shown,
        files={name: folder / PICTURES / name for name in pictures},
        remarks=(*_strangers(folder), *remarks, *doubts),
    )
    return dossier, data


def _records(
    document: Document, vehicle: Vehicle, tables: Tables, pictures: tuple[str, ...]
) -> tuple[tuple[Record, ...], tuple[Shown, ...], tuple[Remark, ...]]:
    """Findings, readings and answers in the order of their numbers, what pictures show, and the remarks on them."""
    known = known_words(*read_plans(document, vehicle, tables), tables, pictures)
    reader = RecordReader(known, CANDIDATE, document.problems, document.today)
    found: list[Record | None] = [reader.finding(number, item) for number, item in document.items("finding")]
    found += [reader.reading(number, item) for number, item in document.items("reading")]
    found += [reader.answer(number, item) for number, item in document.items("answer")]
    shown = [read_picture(reader, number, item) for number, item in document.items("picture")]
    return (
        tuple(record for record in found if record is not None),
        tuple(one for one in shown if one is not None),
        tuple(reader.remarks),
    )


def _comparables_problems(text: str, tables: Tables, today: date) -> list[Problem]:
    """What is wrong with the comparables file."""
    try:
        read_comparables(text, COMPARABLES, states=resale_tables(tables).states, on=today)
    except BadInput as error:
        return list(error.problems)
    return []


def _candidate_text(folder: Path, problems: list[Problem]) -> str | None:
    """The text of candidate.toml; raises when there is no folder to read."""
    if not folder.exists():
        near = nearest(folder.name, _names(folder.parent)) if folder.parent.is_dir() else None
        raise NotFound(
            f"{folder}: there is no such folder" + (f"; nearest: {near!r}" if near else "; give the path of a dossier folder")
        )
    if not folder.is_dir():
        raise BadInput([Problem(str(folder), "is a file; give the folder that holds candidate.toml")])
    names = _names(folder)
    if not names:
        raise BadInput([Problem(str(folder), f"the folder is empty; put a {CANDIDATE} into it")])
    if CANDIDATE not in names:
        near = nearest(CANDIDATE, (name for name in names if (folder / name).is_file()))
        problems.append(
            Problem(str(folder), f"there is no {CANDIDATE}; " + (f"rename {near!r} if that is it" if near else "write one"))
        )
        return None
    return _text(folder / CANDIDATE, problems)


def _names(folder: Path) -> list[str]:
    """What lies in the folder, hidden files left out; raises BadInput when it cannot be looked into."""
    try:
        return sorted(entry.name for entry in folder.iterdir() if not entry.name.startswith("."))
    except OSError as error:
        raise BadInput([Problem(str(folder), f"cannot be opened: {error.strerror}; check its permissions")]) from None


def _text(path: Path, problems: list[Problem], most: int = LARGEST_TEXT) -> str | None:
    """The file as UTF-8 text, or None with the problem recorded."""
    try:
        raw = path.read_bytes()
    except OSError as error:
        problems.append(Problem(path.name, f"cannot be read: {error.strerror}; check that it is a file and its permissions"))
        return None
    if len(raw) > most:
        problems.append(Problem(path.name, f"is {len(raw):,} bytes long; {most:,} are the most that are read"))
        return None
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        problems.append(
            Problem(f"{path.name} line {line}", f"byte 0x{raw[error.start]:02x} is not UTF-8 text; save the file as UTF-8")
        )
        return None


def _optional_text(path: Path, problems: list[Problem], most: int = LARGEST_TEXT) -> str | None:
    return _text(path, problems, most) if path.exists() else None


def _parsed(text: str, problems: list[Problem]) -> dict[str, object] | None:
    """The TOML text as tables, or None with the line of the mistake recorded."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        problems.append(Problem(CANDIDATE, "lists are nested too deep; write each value plainly"))
    except ValueError as error:
        found = re.search(r"\s*\((?:at line (\d+), column (\d+)|at end of document)\)", str(error))
        told = str(error)[: found.start()] if found else str(error)
        line = found[1] if found and found[1] else str(text.count("\n") + 1)
        column = f" at column {found[2]}" if found and found[2] else ""
        problems.append(
            Problem(f"{CANDIDATE} line {line}", f"cannot be read as TOML{column}: {told}; {_toml_remedy(text, line)}")
        )
    return None


def _toml_remedy(text: str, line: str) -> str:
    """What to do about the line, with the line itself in part."""
    lines = text.splitlines()
    written = lines[int(line) - 1].strip() if int(line) <= len(lines) else ""
    return f"mend this line: {written[:60]!r}" if written else 'write key = "value", text in quotes'


def _pictures(folder: Path, problems: list[Problem]) -> tuple[tuple[str, ...], list[Remark]]:
    """The names below pictures/, with remarks on files that are no pictures."""
    if not folder.exists():
        return (), []
    if not folder.is_dir():
        problems.append(Problem(PICTURES, "is a file; make it a folder that holds the pictures"))
        return (), []
    files = [p for p in sorted(folder.rglob("*")) if p.is_file() and not p.name.startswith(".")]
    names = [str(p.relative_to(folder).as_posix()) for p in files]
    pictures = tuple(name for name in names if name.lower().endswith(PICTURE_ENDINGS))
    endings = ", ".join(ending[1:] for ending in PICTURE_ENDINGS)
    others = [name for name in names if name not in pictures]
    return pictures, [Remark("not-a-picture", f"{PICTURES}/{name}", f"is not read; pictures end in {endings}") for name in others]


def _strangers(folder: Path) -> Iterable[Remark]:
    """Remarks on what lies in the folder and is not read."""
    known = (CANDIDATE, COMPARABLES, ADVERT, PICTURES, LEDGER, MEMOS)
    for name in _names(folder):
        if name not in known:
            near = nearest(name, known)
            yield Remark(
                "not-read",
                name,
                f"is not read; nearest: {near!r}" if near else "is not read; a dossier has " + ", ".join(known[:-2]),
            )
