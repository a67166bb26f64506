"""Pictures that look alike: the same one again, mirrored, cropped or recoloured; or another one of the same place.

Two looks: a print of 64 bits (signs of the lowest 8 x 8 cosine terms against their median), good for the same picture
resized, squeezed or recoloured; and local points, which also find cropped copies and a shared background. A likeness is a
remark for a person to look at; two pictures may be alike for good reasons.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from weldworth.core.remark import Remark
from weldworth.evidence.likenesses import WITHIN
from weldworth.picture.decode import Pixels, resized

_Grey = npt.NDArray[np.uint8]
_SIDE = 400  # long side in pixels at which local points are looked for
_POINTS = 400
NEAR_BITS = 12  # of 64: up to here two prints are worth a closer look
_RATIO = 0.8  # a point's best match must beat its second best by this (Lowe 2004, section 7.1, gives 0.8)
_LEAST_POINTS = 10  # points that must agree on one shift, turn and scale
_PLACE_POINTS = 30  # the same for a shared background or object
_SAME = 0.85  # correlation of the overlap from which it is the same picture
_LEAST_OVERLAP = 0.4  # of the smaller picture


@dataclass(frozen=True, slots=True, eq=False)
class Print:
    """bits : 64-bit print. The rest is for the closer look: a small grey copy, places (n, 2) and descriptions (n, 32) of its
    local points, and the print of its mirror image, which has none of its own.
    """

    bits: int
    grey: _Grey
    spots: npt.NDArray[np.float32]
    marks: npt.NDArray[np.uint8]
    mirror: Print | None = None


@dataclass(frozen=True, slots=True)
class Likeness:
    """kind : "same", "mirrored", "part" (the same, cropped) or "place" (another picture of the same place or object).

    bits : bits of 64 that differ. points : local points that agree. overlap : share of the smaller picture they share.
    """

    kind: str
    bits: int
    points: int
    overlap: float


def bits_of(grey: npt.NDArray[np.uint8]) -> tuple[int, int]:
    """The 64-bit prints of a grey picture and of its mirror image.

    The cosine terms of the mirror image are the same ones with every odd column's sign turned, so one transform serves both.
    """
    small = cv2.resize(grey, (32, 32), interpolation=cv2.INTER_AREA).astype(np.float32)
    terms = np.asarray(cv2.dct(small)[:8, :8], dtype=np.float64)
    turned = terms * np.where(np.arange(8) % 2, -1, 1)
    return _packed(terms), _packed(turned)


def _packed(terms: npt.NDArray[np.float64]) -> int:
    return int.from_bytes(np.packbits(terms > np.median(terms)).tobytes(), "big")


def print_of(pixels: Pixels) -> Print:
    """The print of a picture, uint8 of shape (height, width, 3); a preview of 400 pixels is enough."""
    grey = np.asarray(cv2.cvtColor(resized(pixels, _SIDE), cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    bits, mirrored = bits_of(grey)
    flipped = np.ascontiguousarray(grey[:, ::-1])
    return Print(bits, grey, *_points(grey), Print(mirrored, flipped, *_points(flipped)))


def _points(grey: _Grey) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.uint8]]:
    keys, marks = cv2.ORB.create(_POINTS, scaleFactor=1.2, nlevels=6, fastThreshold=8).detectAndCompute(grey, None)
    if marks is None:
        return np.empty((0, 2), np.float32), np.empty((0, 32), np.uint8)
    return np.array([key.pt for key in keys], np.float32), np.asarray(marks, dtype=np.uint8)


def differing(one: int, other: int) -> int:
    """How many of 64 bits differ."""
    return (one ^ other).bit_count()


def likeness(one: Print, other: Print) -> Likeness | None:
    """How `other` is like `one`, or None. Symmetric up to the chance in fitting."""
    found = _fit(one, other)
    if found is not None and found.kind != "place":
        return found
    back = _fit(one.mirror, other) if one.mirror is not None else None
    if back is not None and back.kind != "place":
        return Likeness("mirrored", back.bits, back.points, back.overlap)
    return found


def _fit(one: Print, other: Print) -> Likeness | None:
    bits = differing(one.bits, other.bits)
    placed, points = _placing(one, other)
    if points < _LEAST_POINTS:
        if bits > NEAR_BITS:
            return None
        rows, columns = other.grey.shape[0] / one.grey.shape[0], other.grey.shape[1] / one.grey.shape[1]
        placed = np.array([[columns, 0, 0], [0, rows, 0]], np.float64)
    overlap, correlation = _laid_over(one.grey, other.grey, placed)
    if correlation >= _SAME and overlap >= _LEAST_OVERLAP:
        return Likeness("same" if bits <= NEAR_BITS else "part", bits, points, round(overlap, 2))
    return Likeness("place", bits, points, round(overlap, 2)) if points >= _PLACE_POINTS else None


def _placing(one: Print, other: Print) -> tuple[npt.NDArray[np.float64], int]:
    """Shift, turn and scale (2, 3) that carry points of `one` onto `other`, and how many points agree on it."""
    nowhere = np.eye(2, 3)
    if min(len(one.marks), len(other.marks)) < _LEAST_POINTS:
        return nowhere, 0
    pairs = cv2.BFMatcher(cv2.NORM_HAMMING).knnMatch(one.marks, other.marks, k=2)
    good = [pair[0] for pair in pairs if len(pair) == 2 and pair[0].distance < _RATIO * pair[1].distance]
    if len(good) < _LEAST_POINTS:
        return nowhere, 0
    cv2.setRNGSeed(0)
    placed, agree = cv2.estimateAffinePartial2D(
        one.spots[[m.queryIdx for m in good]], other.spots[[m.trainIdx for m in good]], ransacReprojThreshold=4.0
    )
    if placed is None or not 0.3 < float(np.hypot(placed[0, 0], placed[1, 0])) < 3.3:
        return nowhere, 0
    return np.asarray(placed, dtype=np.float64), int(agree.sum())


def _laid_over(one: _Grey, other: _Grey, placed: npt.NDArray[np.float64]) -> tuple[float, float]:
    """Share of the smaller picture that overlaps once `one` is carried onto `other`, and the correlation there."""
    size = (other.shape[1], other.shape[0])
    carried = cv2.warpAffine(one, placed, size, flags=cv2.INTER_LINEAR)
    inside = cv2.warpAffine(np.full(one.shape, 255, np.uint8), placed, size, flags=cv2.INTER_NEAREST) > 0
    scale = max(1e-6, abs(float(np.linalg.det(placed[:, :2]))))
    overlap = inside.sum() / max(1.0, min(one.size * scale, float(other.size)))
    if inside.sum() < 400:
        return 0.0, 0.0
    a = cv2.GaussianBlur(carried, (0, 0), 1.5)[inside].astype(np.float64)
    b = cv2.GaussianBlur(other, (0, 0), 1.5)[inside].astype(np.float64)
    if a.std() < 1 or b.std() < 1:
        return float(overlap), 0.0
    return float(min(overlap, 1.0)), float(np.corrcoef(a, b)[0, 1])


def alike_within(prints: Mapping[str, Print]) -> list[Remark]:
    """A remark for each picture that repeats an earlier one of the same candidate; two views of one place are expected."""
    names, remarks = list(prints), []
    for at, name in enumerate(names):
        for earlier in names[:at]:
            found = likeness(prints[name], prints[earlier])
            if found is not None and found.kind in WITHIN:
                remarks.append(Remark("alike", name, WITHIN[found.kind].format(other=earlier)))
                break
    return remarks
