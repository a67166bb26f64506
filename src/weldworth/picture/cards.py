"""A small card for each picture, by which pictures alike are found among thousands without opening any.

A card holds the 64-bit prints of the picture and of its mirror image, and keys: of each local point's 256-bit description a few
samples of 40 bits. Two descriptions of one point differ in some bits, so one of the samples is often the same; two that have
nothing to do with each other hardly ever share one (Indyk and Motwani 1998, Approximate nearest neighbors, STOC, 604-613). Who
shares two keys, or nearly the same print, is worth the closer look of `alike.likeness`.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from weldworth.picture.alike import NEAR_BITS, Print

Keys = npt.NDArray[np.uint64]
SHAPE = 1
"""Of what is kept; cards of another shape are made anew."""
_SAMPLES, _BITS = 6, 40
_LEAST_SHARED = 2


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """bits, mirrored : prints of the picture and of its mirror image. keys, turned : of their local points, sorted, each once."""

    bits: int
    mirrored: int
    keys: Keys
    turned: Keys


@cache
def _places() -> npt.NDArray[np.intp]:
    """Which bits of a description each sample takes, (samples, bits)."""
    return np.random.default_rng(0).permutation(256)[: _SAMPLES * _BITS].reshape(_SAMPLES, _BITS)


def card_of(print_: Print) -> Card:
    """The card of a picture whose print has its mirror image."""
    mirror = print_.mirror or print_
    return Card(print_.bits, mirror.bits, _keys(print_.marks), _keys(mirror.marks))


def _keys(marks: npt.NDArray[np.uint8]) -> Keys:
    if not len(marks):
        return np.empty(0, np.uint64)
    bits = np.unpackbits(marks, axis=1)[:, _places()]
    values = bits.astype(np.uint64) @ (np.uint64(1) << np.arange(_BITS, dtype=np.uint64))
    return np.unique(values | (np.arange(_SAMPLES, dtype=np.uint64) << np.uint64(_BITS)))


def written(card: Card) -> bytes:
    """The card as a file."""
    file = io.BytesIO()
    bits = np.array([card.bits, card.mirrored], np.uint64)
    np.savez(file, shape=np.array(SHAPE), bits=bits, keys=card.keys, turned=card.turned)
    return file.getvalue()


def read(data: bytes) -> Card | None:
    """The card again; None where it is of another shape or damaged."""
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as held:
            if int(held["shape"]) != SHAPE:
                return None
            bits, mirrored = (int(value) for value in held["bits"])
            return Card(bits, mirrored, held["keys"].astype(np.uint64), held["turned"].astype(np.uint64))
    except Exception:  # a damaged archive raises whatever its parser stumbles on; the card is made anew
        return None


class Album:
    """Cards by the picture's hash, and who among them may show the same as a given one. Not safe for several threads."""

    def __init__(self) -> None:
        self.cards: dict[str, Card] = {}
        self._names: list[str] = []
        self._bits = np.empty(0, np.uint64)
        self._keys = np.empty(0, np.uint64)
        self._owners = np.empty(0, np.int64)

    def add(self, cards: Mapping[str, Card]) -> None:
        """Put cards in; those that are there already are left."""
        new = {name: card for name, card in cards.items() if name not in self.cards}
        if not new:
            return
        first = len(self._names)
        self._names += new
        self.cards |= new
        self._bits = np.concatenate([self._bits, np.array([card.bits for card in new.values()], np.uint64)])
        keys = np.concatenate([self._keys, *(card.keys for card in new.values())])
        counts = [len(card.keys) for card in new.values()]
        owners = np.concatenate([self._owners, np.repeat(np.arange(first, first + len(new)), counts)])
        order = np.argsort(keys, kind="stable")
        self._keys, self._owners = keys[order], owners[order]

    def worth_a_look(self, card: Card, among: Collection[str]) -> list[str]:
        """Of the pictures `among`, those that may show the same: nearly the same print, or several keys in common, straight or
        mirrored. In the order in which they were put in."""
        if not self._names:
            return []
        near = np.minimum(*(np.bitwise_count(self._bits ^ np.uint64(bits)) for bits in (card.bits, card.mirrored)))
        shared = np.maximum(self._shared(card.keys), self._shared(card.turned))
        found = np.flatnonzero((near <= NEAR_BITS) | (shared >= _LEAST_SHARED))
        return [self._names[at] for at in found if self._names[at] in among]

    def _shared(self, keys: Keys) -> npt.NDArray[np.int64]:
        """How many of the keys each picture holds."""
        first, last = (np.searchsorted(self._keys, keys, side=side) for side in ("left", "right"))
        held = [self._owners[a:b] for a, b in zip(first[last > first], last[last > first], strict=True)]
        owners = np.concatenate(held) if held else np.empty(0, np.int64)
        return np.bincount(owners, minlength=len(self._names))
