"""Originals byte for byte under their SHA-256, and beside them what was made of them.

root/originals/ab/abcd..., root/preview/ab/abcd....jpg, root/working/..., root/facts/ab/abcd....json, root/seen/...,
root/card/... A file appears under its name whole or not at all: it is written to root/arriving/ and renamed.
"""

from __future__ import annotations

import hashlib
import itertools
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from weldworth.core.errors import BadInput, NotFound

_HASH = re.compile(r"[0-9a-f]{64}")
_CHUNK = 1 << 20
_numbers = itertools.count()
SUFFIX = {"preview": ".jpg", "working": ".jpg", "facts": ".json", "seen": ".json", "card": ".npz"}


@dataclass(frozen=True, slots=True)
class PictureFolder:
    """A folder of pictures addressed by content. Several processes may use it at once."""

    root: Path

    def path(self, sha256: str, kind: str = "originals") -> Path:
        """Where the original, or what was made of it (`kind` one of preview, working, facts, seen, card), lies or would lie."""
        if not _HASH.fullmatch(sha256):
            raise BadInput(f"{sha256!r} is not a SHA-256; give 64 hexadecimal digits in lower case")
        return self.root / kind / sha256[:2] / (sha256 + SUFFIX.get(kind, ""))

    def exists(self, sha256: str, kind: str = "originals") -> bool:
        return self.path(sha256, kind).is_file()

    def get(self, sha256: str, kind: str = "originals") -> bytes:
        """The bytes; raises NotFound where there are none."""
        try:
            return self.path(sha256, kind).read_bytes()
        except FileNotFoundError:
            raise NotFound(f"no {kind} of picture {sha256[:12]} in {self.root}; take the picture in again") from None

    def put(self, data: bytes, sha256: str | None = None) -> str:
        """Keep an original and return its SHA-256 (`sha256` where the caller has it already); again is the same picture."""
        sha256 = sha256 or hashlib.sha256(data).hexdigest()
        self._write(self.path(sha256), data)
        return sha256

    def put_made(self, sha256: str, kind: str, data: bytes) -> None:
        """Keep what was made of original `sha256`; replaces what was there."""
        self._write(self.path(sha256, kind), data, again=True)

    @contextmanager
    def arriving(self, stream: BinaryIO, most: float) -> Iterator[tuple[Path, str]]:
        """Copy a large original in pieces and give its path and SHA-256; `keep` it there, or it is gone afterwards.

        Raises BadInput as soon as more than `most` bytes have come.
        """
        digest, length = hashlib.sha256(), 0
        temporary = self._temporary()
        try:
            with temporary.open("wb") as file:
                while piece := stream.read(_CHUNK):
                    length += len(piece)
                    if length > most:
                        raise BadInput(f"is larger than {most / 1e6:.0f} MB; send a shorter or smaller one")
                    digest.update(piece)
                    file.write(piece)
            yield temporary, digest.hexdigest()
        finally:
            with suppress(FileNotFoundError):
                temporary.unlink()

    def keep(self, arrived: Path, sha256: str) -> None:
        """Move what `arriving` copied to its place."""
        target = self.path(sha256)
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(arrived, target)

    def drop(self, sha256: str) -> None:
        """Take the original away for good, and all that was made of it."""
        self.path(sha256)
        for path in self.root.glob(f"*/{sha256[:2]}/{sha256}*"):
            path.unlink(missing_ok=True)

    def settle(self, sha256: str) -> None:
        """Return once the original is on the disk itself and outlives a power cut."""
        with self.path(sha256).open("rb") as file:
            os.fsync(file.fileno())

    def _temporary(self) -> Path:
        place = os.path.join(self.root, "arriving")
        name = os.path.join(place, f"{os.getpid()}-{next(_numbers)}-{os.urandom(4).hex()}")
        if not os.path.isdir(place):
            os.makedirs(place, exist_ok=True)
        return Path(name)

    def _write(self, target: Path, data: bytes, *, again: bool = False) -> None:
        if not again and target.is_file() and target.stat().st_size == len(data):
            return
        temporary = self._temporary()
        try:
            temporary.write_bytes(data)
            try:
                os.replace(temporary, target)
            except FileNotFoundError:
                target.parent.mkdir(parents=True, exist_ok=True)
                os.replace(temporary, target)
        except BaseException:
            with suppress(FileNotFoundError):
                temporary.unlink()
            raise
