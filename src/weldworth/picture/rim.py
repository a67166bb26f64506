"""The rim of a coin among its rings, wall and shadow: an ellipse to a fraction of a pixel, and its rivals."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d

from weldworth.picture.edges import Floats, Slopes, bumps, offsets, profiles, unrolled

AROUND = 72  # points round an ellipse at which its support is judged
FLATTEST = 0.4  # smaller over greater axis of what is looked at
_ALONG = 2.5  # lines that colours are averaged over, so that grain beside the rim goes
_TRUST = 7.0  # a ring met by a seventh more of the lines is e times likelier to be the rim
_LINES = 144  # normals along which the edge is found to a fraction of a pixel


@dataclass(frozen=True, slots=True)
class Ellipse:
    """x, y : centre in pixels; a >= b : half axes; angle of a in radians from x towards y.

    support : share of the outline with an edge along it, 0..1. rough : spread of the edge about the ellipse in pixels.
    edge : width of the edge in pixels. cut : leaves the picture.
    """

    x: float
    y: float
    a: float
    b: float
    angle: float
    support: float = 0.0
    rough: float = 0.0
    edge: float = 0.0
    cut: bool = False
    rivals: tuple[tuple[tuple[float, ...], float], ...] = ()

    @property
    def axes(self) -> Floats:
        return np.array([self.x, self.y, self.a, self.b, self.angle])

    def outline(self, count: int = AROUND) -> tuple[Floats, Floats]:
        """Points (count, 2) on it and its outward normals."""
        return outlines(self.axes[None], count, 0)

    def holds(self, x: float, y: float, grown: float = 1.0) -> bool:
        """Whether the point lies inside it, grown so many times."""
        dx, dy = x - self.x, y - self.y
        u = dx * np.cos(self.angle) + dy * np.sin(self.angle)
        v = -dx * np.sin(self.angle) + dy * np.cos(self.angle)
        return bool((u / self.a) ** 2 + (v / self.b) ** 2 <= grown**2)


def outlines(axes: Floats, count: int, only: int | None = None) -> tuple[Floats, Floats]:
    """Points and outward normals (n, count, 2) of ellipses (n, 5), or of the one `only` (count, 2)."""
    around = np.linspace(0, 2 * np.pi, count, endpoint=False)
    x, y, a, b, angle = (column[:, None] for column in axes.T)
    u, v = np.cos(around), np.sin(around)
    cos, sin = np.cos(angle), np.sin(angle)
    points = np.stack([x + a * u * cos - b * v * sin, y + a * u * sin + b * v * cos], axis=-1)
    out = np.stack([u * cos / a - v * sin / b, u * sin / a + v * cos / b], axis=-1)
    out /= np.linalg.norm(out, axis=-1, keepdims=True)
    return (points, out) if only is None else (points[only], out[only])


def ordered(x: float, y: float, first: float, second: float, angle: float) -> Floats:
    if second > first:
        first, second, angle = second, first, angle + np.pi / 2
    return np.array([x, y, first, second, angle % np.pi])


def fitted_directly(points: Floats) -> Floats | None:
    """Least-squares ellipse (Fitzgibbon, Pilu and Fisher 1999, IEEE PAMI 21(5), 476-480), as OpenCV has it."""
    middle = points.mean(axis=0)
    (x, y), (first, second), degrees = cv2.fitEllipseDirect((points - middle).astype(np.float32))
    if not np.isfinite([x, y, first, second]).all() or min(first, second) < 4 or max(first, second) > 1e5:
        return None
    return ordered(x + middle[0], y + middle[1], first / 2, second / 2, np.radians(degrees))


def away(points: Floats, axes: Floats) -> Floats:
    """Signed distance in pixels of points (k, 2) from an ellipse, outside positive, to first order (Sampson 1982)."""
    x, y, a, b, angle = axes
    dx, dy = (points - [x, y]).T
    u, v = dx * np.cos(angle) + dy * np.sin(angle), -dx * np.sin(angle) + dy * np.cos(angle)
    level = (u / a) ** 2 + (v / b) ** 2
    slope = 2 * np.hypot(u / a**2, v / b**2)
    return np.asarray((level - 1) / np.maximum(slope, 1e-9), dtype=np.float64)


def rim_of(image: npt.NDArray[np.uint8], fine: Slopes, nested: Floats) -> Ellipse | None:
    """The coin's outer edge at full size, to a fraction of a pixel.

    Every edge crossed by the normals is kept; ellipses started at many sizes each settle on the edges nearest to them. The rim
    is the one that most lines meet first when they come in from outside, edges of shadow on the metal left out.
    """
    axes = nested[0]
    reach = max(4.0, 0.25 * axes[2])
    points, out = outlines(axes[None], _LINES, 0)
    change = profiles(fine.lab, points, out, reach, along=_ALONG)
    places, _, widths = bumps(change, reach, 2.5 * float(np.median(change)))
    spots = points[:, None] + out[:, None] * places[..., None]
    coloured = unrolled(image.astype(np.float32), points, out, offsets(reach))
    lit = _not_shadow(gaussian_filter1d(coloured, _ALONG, axis=0, mode="wrap"), places, reach)
    first = np.nanmax(np.where(lit, places, np.nan), axis=1, initial=-reach)
    outer = np.where(places >= first[:, None] - 0.25, places, np.nan)
    starts = [
        np.concatenate([start[:2], start[2:4] * grown, start[4:]]) for start in nested for grown in np.arange(0.92, 1.13, 0.025)
    ]
    settled = [_settled(spots, start) for start in starts]
    edge = points[:, None] + out[:, None] * outer[..., None]
    rings: list[tuple[Floats, float]] = []
    for found in settled:
        if found is not None and found[3] >= FLATTEST * found[2] * 0.9:
            close = max(1.0, 0.012 * found[2])
            met = float((np.abs(_nearest(edge, found)[0]) < close).mean())
            rings.append((found, met + 0.5 * float((np.abs(_nearest(spots, found)[0]) < close).mean())))
    if not rings:
        return None
    rings.sort(key=lambda ring: -ring[1])
    return replace(_judged(image, rings[0][0], spots, widths), rivals=_rivals(rings))


def _rivals(rings: list[tuple[Floats, float]]) -> tuple[tuple[tuple[float, ...], float], ...]:
    """Rings told apart by more than half a pixel, weighted by how well they are met."""
    kept: list[tuple[Floats, float]] = []
    for ring, met in rings:
        if not any(np.abs(ring[:4] - other[:4]).max() < 0.5 for other, _ in kept):
            kept.append((ring, met))
    weights = np.exp(_TRUST * np.array([met - kept[0][1] for _, met in kept]))
    return tuple(
        (tuple(map(float, ring)), float(weight)) for (ring, _), weight in zip(kept, weights / weights.sum(), strict=True)
    )


def _not_shadow(coloured: npt.NDArray[np.float32], places: Floats, reach: float) -> npt.NDArray[np.bool_]:
    """Which edges (k, most) are more than shadow on the metal: not both sides are the outside colour, made darker or not."""
    count = coloured.shape[1]
    ground = np.median(coloured[:, int(0.85 * count) :], axis=1)
    bright = (ground**2).sum(-1)[:, None]
    share = ((coloured * ground[:, None]).sum(-1) / np.maximum(bright, 1)).clip(0.35, 1.12)
    apart = np.linalg.norm(coloured - share[..., None] * ground[:, None], axis=-1) > 9 + 0.05 * np.sqrt(bright)
    middle = np.nan_to_num((places + reach) / (2 * reach) * (count - 1)).astype(int)
    rows, step = np.arange(len(places))[:, None], 4
    inside, outside = apart[rows, (middle - step).clip(0, count - 1)], apart[rows, (middle + step).clip(0, count - 1)]
    return np.asarray(np.isfinite(places) & (inside | outside), dtype=np.bool_)


def _settled(spots: Floats, start: Floats) -> Floats | None:
    """The ellipse that settles on the nearest edges from `start`, or None where it falls apart."""
    current = start
    for close in (0.03, 0.015, 0.008, 0.006, 0.006):
        tolerance = max(0.8 if close < 0.01 else 1.5, close * start[2])
        left = _nearest(spots, current)
        firm = np.abs(left[0]) < tolerance
        if firm.sum() < 0.35 * len(spots):
            return None
        refitted = fitted_directly(left[1][firm])
        if refitted is None or not 0.8 < refitted[2] / start[2] < 1.25:
            return None
        current = refitted
    return current


def _nearest(spots: Floats, axes: Floats) -> tuple[Floats, Floats]:
    """Per line the edge nearest to the ellipse: its signed distance (k,) and its place (k, 2); far away where there is none."""
    left = away(spots.reshape(-1, 2), axes).reshape(spots.shape[:2])
    left = np.where(np.isfinite(left), left, 1e6)
    pick = np.abs(left).argmin(axis=1)
    rows = np.arange(len(spots))
    return left[rows, pick], spots[rows, pick]


def _judged(image: npt.NDArray[np.uint8], rim: Floats, spots: Floats, widths: Floats) -> Ellipse:
    left = away(spots.reshape(-1, 2), rim).reshape(spots.shape[:2])
    left = np.where(np.isfinite(left), left, 1e6)
    pick = np.abs(left).argmin(axis=1)
    rows = np.arange(len(spots))
    close = np.abs(left[rows, pick]) < max(0.8, 0.006 * rim[2])
    near, size = outlines(rim[None], 90, 0)[0], np.array(image.shape[1::-1])
    cut = bool((near < 1).any() or (near > size - 2).any())
    rough = float(np.sqrt((left[rows, pick][close] ** 2).mean())) if close.any() else float("inf")
    edge = float(np.median(widths[rows, pick][close])) if close.any() else float("inf")
    x, y, a, b, angle = (float(value) for value in rim)
    return Ellipse(x, y, a, b, angle, float(close.mean()), rough, edge, cut)
