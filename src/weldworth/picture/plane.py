"""Millimetres in one flat plane of a picture, with what is not known about camera and object carried along as samples.

A plane is a few hundred equally likely (distortion, homography) pairs from pixels to millimetres. A measure is worked out in
each of them, so its interval holds every doubt at once: edge noise, focal length, which way a coin leans, thickness, taps.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from weldworth.core.errors import BadInput, Problem
from weldworth.picture.pose import Floats, Lens

_CELL = 16  # pixels: a mask is added up in cells of this size


@dataclass(frozen=True, slots=True)
class Measure:
    """value : median. low, high : interval meant to cover the truth in `level` of cases. unit : "mm" or "mm2"."""

    value: float
    low: float
    high: float
    unit: str = "mm"

    @property
    def share(self) -> float:
        """Width of the interval as a share of the value."""
        return (self.high - self.low) / self.value if self.value > 0 else float("inf")


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """A flat plane of the picture in millimetres.

    lens : camera samples. maps : (n, 3, 3) from straightened pixels to millimetres. middle : of the object, in pixels.
    reach_mm : farthest from the middle that is still answered. tap_px : spread of a given point in pixels.
    tilt_deg : angle between the line of sight and the normal of the plane. level : of the intervals. widest : refused beyond.
    """

    lens: Lens
    maps: Floats
    middle: tuple[float, float]
    reach_mm: float
    tap_px: float
    tilt_deg: float
    level: float
    widest: float
    seed: int

    def millimetres(self, points: Floats, tap_px: float | None = None) -> Floats:
        """Points (k, 2) in pixels as millimetres in the plane, one set per sample: (n, k, 2).

        Raises BadInput for points beyond the plane's horizon, outside the picture or farther from the object than reach_mm.
        """
        given = _points(points)
        (width, height), spread = self.lens.size, self.tap_px if tap_px is None else tap_px
        if (given < -0.5).any() or (given > np.array([width, height]) - 0.5).any():
            raise BadInput([Problem("points", f"a point lies outside the picture of {width} x {height} pixels; mark it again")])
        everything = np.vstack([given, self.middle])
        flat = self.lens.straight(everything)
        jitter = np.random.default_rng(self.seed).normal(0, spread, flat.shape) if spread > 0 else np.zeros(flat.shape)
        jitter[:, -1] = 0
        placed = _carried(self.maps, flat + jitter)
        far = np.nanmedian(np.hypot(*(placed[:, :-1] - placed[:, -1:]).transpose(2, 0, 1)), axis=0)
        if np.isnan(placed).mean() > 0.02 or far.max(initial=0) > self.reach_mm:
            raise BadInput([Problem("points", _TOO_FAR.format(reach=self.reach_mm))])
        return placed[~np.isnan(placed).any(axis=(1, 2)), :-1]

    def length(self, points: npt.ArrayLike) -> Measure:
        """Length in mm along points (k >= 2, 2) in pixels, in order: a distance, or a seam followed by taps."""
        given = _points(points, 2, "two points along it")
        placed = self.millimetres(given)
        steps = np.hypot(*np.diff(placed, axis=1).transpose(2, 0, 1))
        exact = np.hypot(*np.diff(self.millimetres(given, 0.0), axis=1).transpose(2, 0, 1))
        return self._measure(_unlengthened(steps, exact).sum(axis=1), "mm")

    def width(self, one: npt.ArrayLike, other: npt.ArrayLike | None = None) -> Measure:
        """Width in mm: between the edges `one` and `other` (each k >= 1 points in pixels), or of the outline `one` alone.

        Between edges: mean distance of the points of each from the line of the other. Of an outline (k >= 3): the narrowest
        distance of two parallel lines that hold it, so a hole's smaller or a gap's clear width.
        """
        if other is None:
            placed = self.millimetres(_points(one, 3, "three points round it"))
            return self._measure(np.array([_narrowest(sample) for sample in placed]), "mm")
        first, second = _points(one, 1, "a point on it"), _points(other, 1, "a point on it")
        placed = self.millimetres(np.vstack([first, second]))
        near, far = placed[:, : len(first)], placed[:, len(first) :]
        return self._measure(
            (_apart(near, far) * len(first) + _apart(far, near) * len(second)) / (len(first) + len(second)), "mm"
        )

    def area(self, shape: npt.ArrayLike) -> Measure:
        """Area in mm2 of an outline (k >= 3, 2) in pixels, or of a bool mask of the picture's size."""
        given = np.asarray(shape)
        if given.dtype == bool:
            return self._masked(given)
        placed = self.millimetres(_points(given, 3, "three points round it"))
        x, y = placed[..., 0], placed[..., 1]
        doubled = (x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1)).sum(axis=1)
        return self._measure(np.abs(doubled) / 2, "mm2")

    def _masked(self, mask: npt.NDArray[np.bool_]) -> Measure:
        width, height = self.lens.size
        if mask.shape != (height, width):
            raise BadInput([Problem("mask", f"is {mask.shape[1]} x {mask.shape[0]}; the picture has {width} x {height} pixels")])
        if not mask.any():
            raise BadInput([Problem("mask", "is empty; mark at least one pixel")])
        down, across = np.nonzero(mask)
        _, cell, counts = np.unique((down // _CELL) * width + across // _CELL, return_inverse=True, return_counts=True)
        middles = np.stack([np.bincount(cell, across) / counts, np.bincount(cell, down) / counts], axis=1)
        corners = (middles[:, None] + 0.5 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])[None]).clip(
            -0.5, np.array([width, height]) - 0.5
        )
        placed = self.millimetres(corners.reshape(-1, 2), 0.0).reshape(-1, len(counts), 4, 2)
        one, other = placed[:, :, 2] - placed[:, :, 0], placed[:, :, 3] - placed[:, :, 1]
        pixel = np.abs(one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]) / 2
        rim = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8)).sum() / 2
        edge = np.random.default_rng(self.seed).normal(0, 0.5 * float(rim) / float(mask.sum()), len(pixel))
        return self._measure((pixel * counts).sum(axis=1) * np.exp(edge), "mm2")

    def _measure(self, found: Floats, unit: str) -> Measure:
        low, middle, high = np.quantile(found, [(1 - self.level) / 2, 0.5, (1 + self.level) / 2])
        measure = Measure(float(middle), float(low), float(high), unit)
        if measure.share > self.widest:
            doubt = f"the answer would lie anywhere from {low:.3g} to {high:.3g} {unit.replace('2', chr(178))}"
            raise BadInput(
                [Problem("points", f"{doubt}; lay the object beside what is measured and come closer, looking straight on")]
            )
        return measure


_TOO_FAR = (
    "a point lies more than {reach:.0f} mm from the object, or beyond where its plane can be seen; "
    "lay the object beside what is measured"
)


def _points(given: npt.ArrayLike, least: int = 1, what: str = "a point") -> Floats:
    points = np.asarray(given, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < least or not np.isfinite(points).all():
        raise BadInput(
            [Problem("points", f"shape {points.shape} cannot be measured; give (x, y) pairs in pixels, at least {what}")]
        )
    return points


def _carried(maps: Floats, flat: Floats) -> Floats:
    """Points (n, k, 2) through maps (n, 3, 3); NaN beyond the horizon, which lies where the third part passes zero."""
    full = np.concatenate([flat, np.ones((*flat.shape[:2], 1))], axis=-1) @ maps.transpose(0, 2, 1)
    depth = full[..., 2:] * np.sign(full[:, -1:, 2:])
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(depth > 1e-9, full[..., :2] / full[..., 2:], np.nan)


def _unlengthened(jittered: Floats, exact: Floats) -> Floats:
    """Steps with tap noise, each scaled so that noise across the line does not lengthen it in the median."""
    count = min(len(jittered), len(exact))
    jittered, exact = jittered[:count], exact[:count]
    return np.asarray(jittered * np.median(exact, axis=0) / np.maximum(np.median(jittered, axis=0), 1e-9), dtype=np.float64)


def _narrowest(points: Floats) -> float:
    """Least width of the convex hull of points (k, 2): one of its sides lies on one of the two lines (Houle and Toussaint
    1988, IEEE PAMI 10(5), 761-765)."""
    hull = cv2.convexHull(points.astype(np.float32))[:, 0].astype(np.float64)
    if len(hull) < 3:
        return 0.0
    sides = np.roll(hull, -1, axis=0) - hull
    across = np.stack([-sides[:, 1], sides[:, 0]], axis=1) / np.maximum(np.hypot(*sides.T), 1e-12)[:, None]
    spans = hull @ across.T
    return float((spans.max(axis=0) - spans.min(axis=0)).min())


def _apart(points: Floats, edge: Floats) -> Floats:
    """Mean distance (n,) of points (n, k, 2) from the polyline `edge` (n, m, 2); from its one point when m is 1."""
    if edge.shape[1] == 1:
        return np.asarray(np.hypot(*(points - edge).transpose(2, 0, 1)).mean(axis=1), dtype=np.float64)
    start, run = edge[:, None, :-1], np.diff(edge, axis=1)[:, None]
    along = ((points[:, :, None] - start) * run).sum(-1) / np.maximum((run**2).sum(-1), 1e-12)
    nearest = start + along.clip(0, 1)[..., None] * run
    gaps = np.hypot(*(points[:, :, None] - nearest).transpose(3, 0, 1, 2))
    return np.asarray(gaps.min(axis=2).mean(axis=1), dtype=np.float64)
