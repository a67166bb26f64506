"""Edges to a fraction of a pixel: where colour changes fastest along short lines laid across an outline."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d

Floats = npt.NDArray[np.float64]
_STEP = 0.5  # pixels between samples along a line


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """How fast colour changes, of a picture of one size.

    lab : float32 (height, width, 3), smoothed. strength : gradient over the three channels (height, width).
    across, down : its direction as a unit vector. floor : strength that the quieter half of the picture does not reach.
    """

    lab: npt.NDArray[np.float32]
    strength: npt.NDArray[np.float32]
    across: npt.NDArray[np.float32]
    down: npt.NDArray[np.float32]
    floor: float


def slopes(image: npt.NDArray[np.uint8], smooth: float = 1.0) -> Slopes:
    """Gradients of uint8 (height, width, 3): direction of the structure tensor summed over CIELAB (Di Zenzo 1986,
    Computer Vision, Graphics, and Image Processing 33(1), 116-125)."""
    levels = cv2.cvtColor(image, cv2.COLOR_RGB2LAB).astype(np.float32)
    lab = np.asarray(cv2.GaussianBlur(levels, (0, 0), smooth), dtype=np.float32)
    dx, dy = cv2.Sobel(lab, cv2.CV_32F, 1, 0, scale=1 / 8), cv2.Sobel(lab, cv2.CV_32F, 0, 1, scale=1 / 8)
    xx, yy, xy = (dx * dx).sum(-1), (dy * dy).sum(-1), (dx * dy).sum(-1)
    swing = np.sqrt((xx - yy) ** 2 + 4 * xy * xy)
    angle = 0.5 * np.arctan2(2 * xy, xx - yy)
    strength = np.sqrt(np.maximum((xx + yy + swing) / 2, 0))
    return Slopes(lab, strength, np.cos(angle), np.sin(angle), float(np.percentile(strength, 50)))


def support(
    found: Slopes, points: Floats, normals: Floats, reach: int = 2
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """Strength and agreement (0..1) of the best edge within `reach` pixels of points (..., 2) along their normals (..., 2)."""
    offsets = np.arange(-reach, reach + 1)
    height, width = found.strength.shape
    x = (points[..., 0, None] + normals[..., 0, None] * offsets).round().astype(int).clip(0, width - 1)
    y = (points[..., 1, None] + normals[..., 1, None] * offsets).round().astype(int).clip(0, height - 1)
    agree = np.abs(found.across[y, x] * normals[..., 0, None] + found.down[y, x] * normals[..., 1, None])
    strong = found.strength[y, x] * (agree > 0.8)
    best = strong.argmax(axis=-1)[..., None]
    return np.take_along_axis(strong, best, -1)[..., 0], np.take_along_axis(agree, best, -1)[..., 0].astype(np.float32)


def profiles(
    image: npt.NDArray[np.float32], points: Floats, normals: Floats, reach: float, *, along: float = 0.0, closed: bool = True
) -> Floats:
    """Change of colour per pixel along each normal: (k, samples) at offsets(reach); image float32 (height, width, channels).

    along : colours are first averaged over this many neighbouring lines (one spread of a bell), so that what follows the
    outline stays and the grain beside it goes; `closed` : the last line is next to the first.
    """
    seen = unrolled(image, points, normals, offsets(reach + _STEP / 2, extra=True))
    if along > 0:
        seen = gaussian_filter1d(seen, along, axis=0, mode="wrap" if closed else "nearest")
    return np.asarray(np.linalg.norm(np.diff(seen.astype(np.float64), axis=1), axis=-1) / _STEP, dtype=np.float64)


def unrolled(image: npt.NDArray[np.float32], points: Floats, normals: Floats, steps: Floats) -> npt.NDArray[np.float32]:
    """The picture along the normals: (k, steps, channels)."""
    x = (points[:, :1] + normals[:, :1] * steps).astype(np.float32)
    y = (points[:, 1:] + normals[:, 1:] * steps).astype(np.float32)
    return np.asarray(cv2.remap(image, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), dtype=np.float32)


def offsets(reach: float, extra: bool = False) -> Floats:
    """Places of the samples along a normal, in pixels."""
    count = round(2 * (reach - (_STEP / 2 if extra else 0)) / _STEP) + (2 if extra else 1)
    return np.asarray((np.arange(count) - (count - 1) / 2) * _STEP, dtype=np.float64)


def bumps(change: Floats, reach: float, least: float, most: int = 8) -> tuple[Floats, Floats, Floats]:
    """The `most` steepest places of each line: offset in pixels (parabola through three samples), height, width at half height.

    All of shape (k, most); NaN where a line has fewer. Bumps lower than `least` or a tenth of the line's highest do not count.
    """
    left, top, right = change[:, :-2], change[:, 1:-1], change[:, 2:]
    peak = (top >= left) & (top > right) & (top >= np.maximum(least, 0.1 * change.max(axis=1, keepdims=True)))
    order = np.argsort(-np.where(peak, top, -1), axis=1)[:, :most]
    rows = np.arange(len(change))[:, None]
    kept = peak[rows, order]
    height = np.where(kept, top[rows, order], np.nan)
    bend = left[rows, order] - 2 * top[rows, order] + right[rows, order]
    shift = 0.5 * (left - right)[rows, order] / np.minimum(bend, -1e-9)
    place = np.where(kept, offsets(reach)[order + 1] + shift.clip(-1, 1) * _STEP, np.nan)
    distance = np.abs(np.arange(change.shape[1])[None, None] - (order + 1)[..., None])
    below = change[:, None, :] < height[..., None] / 2
    half = np.where(below, distance, change.shape[1]).min(axis=-1)
    return place, height, np.where(kept, (2 * half - 1) * _STEP, np.nan)


def shrunk(image: npt.NDArray[np.uint8], share: float) -> npt.NDArray[np.uint8]:
    """The picture at `share` of its size, or itself where that is 1 or more."""
    if share >= 1:
        return image
    return np.asarray(cv2.resize(image, None, fx=share, fy=share, interpolation=cv2.INTER_AREA), dtype=np.uint8)
