"""What lies in the files, folders and zips that were given: one source each, opened only when its turn comes."""

from __future__ import annotations

import stat
import zipfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import BinaryIO, cast

from weldworth.core.errors import Problem
from weldworth.picture.kinds import HEAD, ZIP, kind_of
from weldworth.picture.limits import Limits

_LITTER = ("__MACOSX", "Thumbs.db", "desktop.ini")
_PLAIN = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_GROWS_FROM = 1_000_000  # bytes: a smaller file may be blank and grow much without harm


@dataclass(frozen=True, slots=True)
class Source:
    """One file to take in. name : as the giver knows it, such as ``walk.zip: pictures/1.jpg``. length : bytes, as claimed."""

    name: str
    length: int
    open: Callable[[], BinaryIO]
    zipped: bool = False


def sources(paths: Iterable[Path], limits: Limits) -> Iterator[Source | Problem]:
    """Every file in `paths`, folders and zips searched, in order of name; a Problem for each that cannot be opened.

    Files whose names begin with a dot and what systems leave in folders are passed over.
    """
    for path in paths:
        try:
            mode = path.stat().st_mode
        except OSError as fault:
            yield Problem(str(path), f"cannot be opened ({fault.strerror}); check the name, or copy it here again")
            continue
        if stat.S_ISDIR(mode):
            yield from _in_folder(path, limits)
        else:
            yield from _file(path, path.name, limits)


def _in_folder(folder: Path, limits: Limits) -> Iterator[Source | Problem]:
    for path in sorted(folder.rglob("*")):
        inside = path.relative_to(folder)
        if path.is_dir() or _litter(inside.parts):
            continue
        yield from _file(path, inside.as_posix(), limits)


def _litter(parts: tuple[str, ...]) -> bool:
    return any((part.startswith(".") and part != "..") or part in _LITTER for part in parts)


def _file(path: Path, name: str, limits: Limits) -> Iterator[Source | Problem]:
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            yield Problem(name, "is not an ordinary file; give pictures, videos, folders or zips")
            return
        with path.open("rb") as file:
            kind = kind_of(file.read(HEAD))
    except OSError as fault:
        yield Problem(name, f"cannot be opened ({fault.strerror}); check that it may be read, or copy it again")
        return
    if kind == ZIP:
        yield from _in_zip(path, name, limits)
    else:
        yield Source(name, found.st_size, lambda: path.open("rb"))


def _in_zip(path: Path, name: str, limits: Limits) -> Iterator[Source | Problem]:
    try:
        archive = zipfile.ZipFile(path)
    except Exception as fault:  # a damaged directory raises whatever its parser stumbles on
        yield Problem(name, f"is a zip that cannot be read ({_reason(fault)}); it may be cut off: make or send it again")
        return
    members = [info for info in archive.infolist() if not info.is_dir() and not _litter(_parts(info))]
    too_much = _too_much(members, limits)
    if too_much is not None or not members:
        yield Problem(name, too_much or "is a zip with nothing in it; put the pictures in and send it again")
        return
    for info in sorted(members, key=lambda info: info.filename):
        fault_found = _unfit(info, limits)
        shown = f"{name}: {_shown(info.filename)}"
        if fault_found is not None:
            yield Problem(shown, fault_found)
        else:
            yield Source(shown, info.file_size, _opener(archive, info), zipped=True)


def _parts(info: zipfile.ZipInfo) -> tuple[str, ...]:
    return PurePosixPath(info.filename.replace("\\", "/")).parts


def _opener(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Callable[[], BinaryIO]:
    return lambda: cast(BinaryIO, archive.open(info))


def _too_much(members: list[zipfile.ZipInfo], limits: Limits) -> str | None:
    if len(members) > limits.zip_members:
        return f"is a zip of {len(members)} files, more than {limits.zip_members:.0f}; send the pictures in smaller zips"
    total = sum(info.file_size for info in members)
    if total > limits.zip_bytes:
        return f"is a zip of {total / 1e9:.1f} GB once unpacked, more than {limits.zip_bytes / 1e9:.0f}; send smaller zips"
    return None


def _unfit(info: zipfile.ZipInfo, limits: Limits) -> str | None:
    """Why a file in a zip is not opened, or None."""
    parts = _parts(info)
    if not parts or parts[0] == "/" or ".." in parts or parts[0].endswith(":"):
        return "has a name that points outside the zip; make the zip anew from the pictures alone"
    if info.flag_bits & 0x1:
        return "is locked with a password; send the zip without one"
    if info.compress_type not in _PLAIN:
        return "is packed in an unusual way; make the zip anew with ordinary compression"
    if info.file_size > _GROWS_FROM and info.file_size > limits.zip_ratio * max(info.compress_size, 1):
        return f"would grow {info.file_size / max(info.compress_size, 1):.0f}-fold on unpacking, as no picture does; leave it out"
    return None


def _shown(name: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in name)[:120]


def _reason(fault: Exception) -> str:
    return " ".join(str(fault).split())[:80] or type(fault).__name__
