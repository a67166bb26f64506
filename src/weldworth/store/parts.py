"""Uploads that have begun: what has come so far lies on the disk, so that a phone goes on where the line broke.

root/<owner>/<id>.part holds the bytes, <id>.json beside it what was announced. How much has come is the length of the file, so
a restart of the desk loses nothing of it.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from weldworth.core.errors import BadInput, Problem

_ID = re.compile(r"[A-Za-z0-9_-]{8,64}")
_CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class Part:
    """One upload that has begun. length : bytes that it will have. about : what was announced with it."""

    path: Path
    length: int
    about: Mapping[str, object]

    @property
    def offset(self) -> int:
        """Bytes that have come."""
        return self.path.stat().st_size

    def add(self, data: bytes) -> int:
        """Put bytes at the end and return how many there are now; OSError where the disk takes no more, which keeps what fit."""
        with self.path.open("ab", buffering=0) as file:
            view = memoryview(data)
            while view:
                view = view[file.write(view) :]
        return self.offset

    def sha256(self) -> str:
        """Hash of what has come, as 64 hexadecimal digits."""
        digest = hashlib.sha256()
        with self.path.open("rb") as file:
            while piece := file.read(_CHUNK):
                digest.update(piece)
        return digest.hexdigest()

    def empty(self) -> None:
        """Begin again at the first byte."""
        self.path.write_bytes(b"")

    def drop(self) -> None:
        """Forget it."""
        for path in (self.path, self.path.with_suffix(".json")):
            with suppress(FileNotFoundError):
                path.unlink()


@dataclass(frozen=True, slots=True)
class Parts:
    """The folder of uploads that have begun."""

    root: Path

    def begin(self, owner: str, id: str, length: int, about: Mapping[str, object]) -> Part:
        """A new upload, or the one that has begun under this id. Raises BadInput for an id that is none."""
        found = self.find(owner, id)
        if found is not None and found.length == length:
            return found
        path = self._path(owner, id)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"")
        announced = path.with_suffix(".trial")
        announced.write_text(json.dumps({"length": length, "about": about}), encoding="utf-8")
        os.replace(announced, path.with_suffix(".json"))
        return Part(path, length, about)

    def find(self, owner: str, id: str) -> Part | None:
        """The upload that has begun under this id."""
        path = self._path(owner, id)
        try:
            told = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
            return Part(path, int(told["length"]), told["about"]) if path.is_file() else None
        except (FileNotFoundError, ValueError):
            return None

    def begun(self, owner: str) -> list[Part]:
        """Everything of one owner that has begun and is not whole yet."""
        found = (self.find(owner, path.stem) for path in sorted(self._folder(owner).glob("*.json")))
        return [part for part in found if part is not None]

    def forget(self, owner: str) -> None:
        """Take away everything of one owner that has begun."""
        shutil.rmtree(self._folder(owner), ignore_errors=True)

    def forget_before(self, moment: float) -> None:
        """Take away what nothing was added to since `moment`, in seconds since 1970."""
        for path in self.root.glob("*/*.part"):
            with suppress(FileNotFoundError):
                if path.stat().st_mtime < moment:
                    Part(path, 0, {}).drop()

    def free(self) -> int:
        """Bytes that the disk still takes."""
        self.root.mkdir(parents=True, exist_ok=True)
        return shutil.disk_usage(self.root).free

    def _folder(self, owner: str) -> Path:
        return self.root / hashlib.sha256(owner.encode()).hexdigest()[:32]

    def _path(self, owner: str, id: str) -> Path:
        if not _ID.fullmatch(id):
            raise BadInput([Problem("id", f"{id[:70]!r} is no id; give 8 to 64 letters, digits, - or _")])
        return self._folder(owner) / f"{id}.part"
