"""Characters burnt out by glare: where they stood is seen from the spacing of the others, what they were is left open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

import cv2
import numpy as np

from weldworth.picture.looks import Pixels
from weldworth.picture.spelling import ALPHABET, Floats

_BLOWN = 248  # all three colours from here on: nothing more can be seen
_PLAIN = 0.35  # of the line's height: a blown disc of this size has no stroke in it
_GROUND = 0.3  # of a column: where the middle one of all is blown so far, the ground is white
_REACH = 1.2  # heights of the line by which a burnt end is let out: about two characters
_WIDE = 1.55  # usual steps from one character to the next: from here on one is missing between
_MOST = 3  # characters missing in one place; of more nothing could be said
_FAINT = 0.2  # characters' worth of ignorance set against what a reader still makes out in a burnt place


def burnt(line: Pixels) -> Floats:
    """Share (width,) of each column of a line, uint8 (height, width, 3), that is blown out with no stroke in it; none where most
    columns are blown, for then the ground is white and characters show against it."""
    tall = line.shape[0]
    rows = slice(int(0.12 * tall), max(1, int(0.88 * tall)))
    blown = cv2.morphologyEx((line.min(axis=2) >= _BLOWN).astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    if np.median(blown[rows].mean(axis=0)) > _GROUND:
        return np.zeros(line.shape[1])
    size = max(3, int(_PLAIN * tall) | 1)
    plain = cv2.morphologyEx(blown, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)))
    return np.asarray(plain[rows].mean(axis=0), dtype=np.float64)


def let_out(corners: Floats) -> Floats:
    """The box (4, 2) with both ends let out by as far as characters might be burnt off."""
    across = corners[1] - corners[0]
    out = across / max(float(np.hypot(*across)), 1e-6) * float(np.hypot(*(corners[3] - corners[0]))) * _REACH
    return np.asarray(corners + np.array([-out, out, out, -out]))


def ends_burnt(line: Pixels, pad: float) -> tuple[bool, bool]:
    """Whether a line cut with both ends let out, and `pad` of its height around, is burnt where it began and where it ended."""
    share = burnt(line)
    height = line.shape[0] / (1 + 2 * pad)
    end = (_REACH + 2 * pad) * height
    inner, outer = int(end + 0.3 * height), max(0, int(end - 0.6 * height))
    return bool(share[outer:inner].mean() > 0.3), bool(share[::-1][outer:inner].mean() > 0.3)


def opened(frames: Floats, share: Floats, terms: Mapping[str, float]) -> tuple[Floats, tuple[int, ...]]:
    """Frames (t, 1 + alphabet) with every character left open where one is missing and the line is burnt; how many stand before.

    share : of each column that is burnt, over the width that the frames share. The second value has one number for each opened
    place: how many characters, opened ones included, stand before it.
    """
    peaks = _peaks(frames)
    if len(peaks) < 4:
        return frames, ()
    edges = np.linspace(0, len(share), len(frames) + 1).astype(int)
    burns = np.array([share[start : max(end, start + 1)].mean() for start, end in pairwise(edges)])
    pitch = float(np.median(np.diff(peaks)))
    out = frames.copy()
    before: list[int] = []
    for place, start, end, count in _gaps(peaks, pitch, len(frames)):
        low, high = max(0, int(np.ceil(start + 0.35 * pitch))), min(len(frames), int(end - 0.35 * pitch) + 1)
        if high <= low or burns[low:high].mean() < 0.25:
            continue
        none = terms["unread_end" if place in (0, len(peaks)) else "unread"]
        for step in range(1, count + 1):
            middle = start + (end - start) * step / (count + 1)
            near = slice(max(0, round(middle - 0.4 * pitch)), min(len(frames), round(middle + 0.4 * pitch) + 1))
            seen = frames[near, 1:].sum(axis=0)
            at = min(max(round(middle), 0), len(frames) - 1)
            out[at, 0] = none
            out[at, 1:] = (1 - none) * (seen + _FAINT / len(ALPHABET)) / (seen.sum() + _FAINT)
            before.append(place + len(before))
    return out, tuple(before)


def _peaks(frames: Floats) -> Floats:
    """Middle of each run of frames in which one character is likeliest."""
    best = frames.argmax(axis=1)
    starts = np.flatnonzero(np.diff(best, prepend=-1))
    ends = np.append(starts[1:], len(best)) - 1
    return np.array([(start + end) / 2 for start, end in zip(starts, ends, strict=True) if best[start] > 0])


def _gaps(peaks: Floats, pitch: float, length: int) -> Iterator[tuple[int, float, float, int]]:
    """Characters before a gap in which some are missing, the characters on both sides of it, in frames, and how many are missing;
    beyond the ends it runs to where the next one would stand."""
    first, last = float(peaks[0]), length - 1 - float(peaks[-1])
    count = round(first / pitch - 0.8) if first > 1.3 * pitch else 0
    if 1 <= count <= _MOST:
        yield 0, first - pitch * (count + 1), first, count
    for place, (start, end) in enumerate(pairwise(peaks), start=1):
        count = round((end - start) / pitch) - 1 if end - start > _WIDE * pitch else 0
        if 1 <= count <= _MOST:
            yield place, float(start), float(end), count
    count = round(last / pitch - 0.8) if last > 1.3 * pitch else 0
    if 1 <= count <= _MOST:
        yield len(peaks), float(peaks[-1]), float(peaks[-1]) + pitch * (count + 1), count
