"""Which pictures are alike: within a candidate and across a whole shop, each pair looked at once and remembered."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from weldworth.core.errors import BadInput
from weldworth.picture.alike import Likeness, Print, likeness, print_of
from weldworth.picture.cards import Album, Card, card_of, read, written
from weldworth.picture.decode import decode
from weldworth.picture.folder import PictureFolder
from weldworth.picture.kinds import HEAD, PICTURES, kind_of
from weldworth.picture.limits import limits
from weldworth.tables import Tables
from weldworth.workbench.held import Held

PRINT_PX = 400
_MOST_PAIRS, _MOST_PRINTS = 100_000, 64


class Likes:
    """Likenesses by the pictures' hashes. Safe to use from several threads. folder : where cards are kept, or None."""

    def __init__(self, folder: PictureFolder | None) -> None:
        self.folder = folder
        self._album, self._pairs = Album(), dict[tuple[str, str], Likeness | None]()
        self._none: set[str] = set()
        self._prints: Held[Print | None] = Held(_MOST_PRINTS)
        self._lock = threading.Lock()

    @property
    def ready(self) -> int:
        """How many cards are there."""
        return len(self._album.cards)

    def prepare(self, files: Mapping[str, Path], tables: Tables, most: int | None = None) -> int:
        """Make or read the cards of these pictures (hash -> file), at most so many; how many were not there yet."""
        missing = [sha256 for sha256 in files if sha256 not in self._album.cards and sha256 not in self._none][:most]
        made: dict[str, Card] = {}
        for sha256 in missing:
            card = self._kept(sha256)
            if card is None:
                print_ = self._print(sha256, files[sha256], tables)
                card = card_of(print_) if print_ is not None else None
                if card is not None and self.folder is not None:
                    self.folder.put_made(sha256, "card", written(card))
            if card is None:
                self._none.add(sha256)
            else:
                made[sha256] = card
        with self._lock:
            self._album.add(made)
        return len(missing)

    def of(self, sha256: str, others: Mapping[str, Path], file: Path, tables: Tables) -> dict[str, Likeness]:
        """Other pictures (hash -> file) that this one is like, of those whose cards are there."""
        card = self._album.cards.get(sha256)
        if card is None:
            return {}
        with self._lock:
            likely = [other for other in self._album.worth_a_look(card, others) if other != sha256]
        found = {}
        for other in likely:
            pair = (sha256, other)
            if pair not in self._pairs:
                mine, theirs = self._print(sha256, file, tables), self._print(other, others[other], tables)
                self._remember(pair, likeness(mine, theirs) if mine is not None and theirs is not None else None)
            like = self._pairs[pair]
            if like is not None:
                found[other] = like
        return found

    def _remember(self, pair: tuple[str, str], like: Likeness | None) -> None:
        if len(self._pairs) >= _MOST_PAIRS:
            self._pairs.pop(next(iter(self._pairs)))
        self._pairs[pair] = like

    def _kept(self, sha256: str) -> Card | None:
        if self.folder is None or not self.folder.exists(sha256, "card"):
            return None
        return read(self.folder.get(sha256, "card"))

    def _print(self, sha256: str, file: Path, tables: Tables) -> Print | None:
        """The print; None for what is no picture. The last few are held, for pictures of one candidate are compared in turn."""
        return self._prints.get(sha256, lambda: self._printed(file, tables))

    def _printed(self, file: Path, tables: Tables) -> Print | None:
        """The print, always from the original, so that a dossier is judged alike in its folder and on the desk."""
        with suppress(BadInput, OSError):
            data = file.read_bytes()
            kind = kind_of(data[:HEAD])
            if kind in PICTURES:
                return print_of(decode(data, kind, file.name, limits(tables), PRINT_PX).pixels)
        return None
