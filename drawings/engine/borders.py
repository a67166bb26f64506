"""Where borders pass between the middles of two pixels, to a small part of a pixel: what makes small rounds round."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from engine.raster import Picture

Seen = tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.float32], NDArray[np.float32]]
"""Label, sheet, depth (n,) and normal (n, 3) of what is seen at n places."""
Look = Callable[[float, float, NDArray[np.bool_]], Seen]
JUMP = 10
"""Steps in depth under this many mm are not looked for."""


def find_borders(picture: Picture, look: Look, between: int) -> None:
    """Fills `down` and `across` of a picture, looking at `between` places on every way where label, sheet or depth change."""
    p = picture
    ways = (
        (p.down[1:-1], np.s_[:-1, :], np.s_[1:, :], (0.0, 1.0)),
        (p.across[:, 1:-1], np.s_[:, :-1], np.s_[:, 1:], (1.0, 0.0)),
    )
    for border, a, b, step in ways:
        bent = p.sharp[a] & ((p.normal[a] * p.normal[b]).sum(-1) < 0.95)
        far = np.abs(p.depth[a] - p.depth[b]) > JUMP
        wanted = np.zeros(p.label.shape, np.bool_)
        wanted[a] = (p.label[a] != p.label[b]) | (p.sheet[a] != p.sheet[b]) | far | bent
        at = np.nonzero(wanted[a])
        one, other = ((p.label[q][at], p.sheet[q][at], p.depth[q][at], p.normal[q][at]) for q in (a, b))
        near = np.zeros(len(at[0]), np.float32)
        for k in range(1, between + 1):
            t = k / (between + 1)
            near += _nearer(look(t * step[0], t * step[1], wanted), one, other)
        border[at] = (near + 0.5) / (between + 1)


def _nearer(here: Seen, one: Seen, other: Seen) -> NDArray[np.float32]:
    """1 where what is seen `here` is what is seen at `one`, 0 where it is what is seen at `other`, a half where neither."""

    def alike(k: int) -> NDArray[np.float32]:
        return np.where(here[k] == one[k], 1, np.where(here[k] == other[k], 0, 0.5)).astype(np.float32)

    deeper = np.abs(here[2] - one[2]) < np.abs(here[2] - other[2])
    turned = (here[3] * one[3]).sum(-1) > (here[3] * other[3]).sum(-1)
    same = np.where(np.abs(one[2] - other[2]) > JUMP, deeper, turned).astype(np.float32)
    return np.where(one[0] != other[0], alike(0), np.where(one[1] != other[1], alike(1), same)).astype(np.float32)
