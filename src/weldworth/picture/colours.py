"""Rust looks alike within one picture: where the network is sure, it teaches what the colours of this picture mean.

The first guess gives rust and the rest of the picture a colour model each, and these give a better guess, as in Rother,
Kolmogorov and Blake 2004, GrabCut, ACM Transactions on Graphics 23(3), 309-314; here with soft histograms, once, and without the
cut. What it brings on pictures never seen: docs/rust-model.md.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

Map = npt.NDArray[np.float32]

_BINS = 12  # of lightness and of both colour axes
_REACH = 80.0  # of the colour axes of CIE Lab that the bins cover
_THIN = 1e-3  # of the picture: a colour rarer than this is judged by the picture's own share of rust
_SHARE = 0.6  # how far a picture with little rust is held against its colours, 0 to 1
_MOST = 3.0  # log odds that a colour can add
_SURE = 0.75  # of the log odds: network and colours say partly the same
_LEAST = 1e-4


def by_colour(image: npt.NDArray[np.uint8], rust: Map) -> Map:
    """The probability of rust, moved towards what the colour of each pixel has elsewhere in the picture.

    image : uint8 (M, N, 3), sRGB, red first. rust : (m, n) in 0..1, the first guess; m and n at most M and N. Returns (m, n).
    """
    small = cv2.resize(image, (rust.shape[1], rust.shape[0]), interpolation=cv2.INTER_AREA)
    bins = _bins(small.astype(np.uint8, copy=False))
    first = np.clip(rust.astype(np.float64), _LEAST, 1 - _LEAST)
    rusty, other = _histogram(bins, first), _histogram(bins, 1 - first)
    share, few = first.mean(), _THIN * first.size
    chance = (rusty + few * share) / (rusty + other + few)
    told = np.clip(_log_odds(chance) - _SHARE * _log_odds(share), -_MOST, _MOST).ravel()[bins]
    odds = _SURE * (_log_odds(first) + told)
    return np.asarray(1 / (1 + np.exp(-odds)), dtype=np.float32)


def _bins(image: npt.NDArray[np.uint8]) -> npt.NDArray[np.intp]:
    """The number of the colour of each pixel."""
    lab = cv2.cvtColor(image, cv2.COLOR_RGB2LAB).astype(np.float64)
    places = np.stack([lab[..., 0] / 256, (lab[..., 1] - 128) / _REACH + 0.5, (lab[..., 2] - 128) / _REACH + 0.5])
    lightness, a, b = np.clip(places * _BINS, 0, _BINS - 1).astype(np.intp)
    return np.asarray((lightness * _BINS + a) * _BINS + b)


def _histogram(bins: npt.NDArray[np.intp], weights: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The weight of each colour, neighbours blended, (_BINS, _BINS, _BINS)."""
    counts = np.bincount(bins.ravel(), weights.ravel(), minlength=_BINS**3)
    found = np.asarray(counts.reshape(_BINS, _BINS, _BINS), dtype=np.float64)
    for axis in range(3):
        padded = np.pad(found, [(1, 1) if axis == i else (0, 0) for i in range(3)], mode="edge")
        before, after = (np.take(padded, range(start, start + _BINS), axis) for start in (0, 2))
        found = (before + 2 * found + after) / 4
    return found


def _log_odds(chance: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return np.asarray(np.log(chance / (1 - chance)))
