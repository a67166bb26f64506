"""What people send: pictures, videos, zips of them, and dossier folders packed as zips."""

from __future__ import annotations

import shutil
import tempfile
import tomllib
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Protocol, cast

from starlette.datastructures import UploadFile

from weldworth.core.errors import BadInput, Problem
from weldworth.picture.archive import Source, sources
from weldworth.picture.folder import PictureFolder
from weldworth.picture.intake import take_in
from weldworth.picture.limits import limits
from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import Receipt

CANDIDATE = "candidate.toml"


class Named(Protocol):
    """A picture with its name and hash."""

    @property
    def name(self) -> str: ...
    @property
    def sha256(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Kept:
    """A picture that lies in the folder now."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Arrived:
    """What came of it. problems : one sentence for each file that was not taken."""

    pictures: tuple[Kept, ...]
    problems: tuple[Problem, ...]


def arrive(desk: Desk, files: Iterable[UploadFile]) -> Arrived:
    """Take files into the picture folder; each is read once, kept under its hash and judged. Records nothing."""
    with saved(files) as paths:
        return taken(desk, paths)


def taken(desk: Desk, paths: Sequence[Path]) -> Arrived:
    """The same for files that are on the disk already."""
    if not paths:
        raise BadInput([Problem("files", "nothing was sent; choose pictures, videos or a zip of them")])
    found = take_in(paths, cast(PictureFolder, desk.pictures), tables=desk.tables())
    kept = tuple(Kept(named(one.name), one.sha256) for one in cast(Iterable[Named], found.pictures))
    return Arrived(kept, found.problems)


def named(name: str) -> str:
    """A picture's own name, without the zip and the folders that it came in.

    >>> named("walk.zip: left/1.jpg")
    '1.jpg'
    """
    return PurePosixPath(name.rpartition(": ")[2]).name


def holds_dossier(file: Path) -> bool:
    """Whether it is a zip with a candidate.toml in it."""
    try:
        with zipfile.ZipFile(file) as archive:
            return any(PurePosixPath(name).name == CANDIDATE for name in archive.namelist())
    except zipfile.BadZipFile:
        return False


def take_dossier(desk: Desk, packed: Path, by: str, receipt: Receipt | None = None) -> str:
    """Open a new candidate from a zipped dossier folder and give its id. receipt : as for `Desk.import_dossier`.

    Raises BadInput with every problem.
    """
    with tempfile.TemporaryDirectory() as place:
        base = Path(place)
        problems, folder = [], base / "unpacked"
        for source in sources([packed], limits(desk.tables())):
            if isinstance(source, Problem):
                problems.append(source)
            else:
                _unpack(source, folder, packed.name)
        if problems:
            raise BadInput(problems)
        tops = sorted(folder.rglob(CANDIDATE), key=lambda path: len(path.parts)) if folder.is_dir() else []
        if not tops:
            raise BadInput([Problem(packed.name, f"holds no {CANDIDATE}; pack a dossier folder, or send pictures")])
        home = tops[0].parent
        if home == folder:
            home = folder.rename(base / (Path(packed.name).stem or "dossier"))
        return desk.import_dossier(home, by, receipt)


def _unpack(source: Source, folder: Path, name: str) -> None:
    inside = PurePosixPath(source.name.removeprefix(f"{name}: ")) if source.zipped else PurePosixPath(source.name)
    target = folder / inside
    target.parent.mkdir(parents=True, exist_ok=True)
    with source.open() as stream, target.open("wb") as out:
        shutil.copyfileobj(stream, out)


def put_on_bench(desk: Desk, folders: Iterable[Path], by: str) -> None:
    """Import the dossiers whose vehicles are not there yet by name, archived ones included."""
    there = {line.name for line in desk.candidates(archived=None)}
    for folder in folders:
        vehicle = tomllib.loads((folder / CANDIDATE).read_text(encoding="utf-8"))["vehicle"]
        if vehicle["name"] not in there:
            desk.import_dossier(folder, by)


def pack_dossier(desk: Desk, id: str, place: Path) -> Path:
    """A candidate as a zipped dossier folder in `place`."""
    name = "".join(c if c.isalnum() else "-" for c in desk.candidate(id).dossier.vehicle.name.lower()).strip("-") or "candidate"
    folder = desk.export_dossier(id, place / name)
    return Path(shutil.make_archive(str(place / f"{name}-dossier"), "zip", place, folder.name))


@contextmanager
def saved(files: Iterable[UploadFile]) -> Iterator[list[Path]]:
    """The files on the disk, each under its own name, as long as the block runs."""
    with tempfile.TemporaryDirectory() as place:
        yield [_saved(file, Path(place), number) for number, file in enumerate(files)]


def _saved(file: UploadFile, place: Path, number: int) -> Path:
    """The file on the disk under its own name, alone in a folder of its own."""
    name = PurePosixPath((file.filename or "").replace("\\", "/")).name.lstrip(".") or f"file-{number + 1}"
    target = place / str(number) / name
    target.parent.mkdir(parents=True)
    file.file.seek(0)
    with target.open("wb") as out:
        shutil.copyfileobj(file.file, out)
    return target
