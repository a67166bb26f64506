"""Finding a coin: ellipses that the edges of the picture bear out, then the rim of each."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
import numpy.typing as npt

from weldworth.picture.edges import Floats, Slopes, shrunk, slopes, support
from weldworth.picture.rim import AROUND, FLATTEST, Ellipse, away, fitted_directly, ordered, outlines, rim_of

_SEEK = 800  # long side in pixels at which ellipses are looked for
_ENOUGH = 0.62  # share of the outline with an edge along it
_KEPT = 12


def find_ellipses(image: npt.NDArray[np.uint8], near: tuple[float, float] | None, most: int = 2) -> list[Ellipse]:
    """The ellipses best borne out by edges, at most `most`, in pixels of image (height, width, 3); none hides another.

    near : a point on or close beside the object; without it the whole picture is searched. May be empty.
    """
    height, width = image.shape[:2]
    shrink = min(1.0, _SEEK / max(height, width))
    small = shrunk(image, shrink)
    tapped = None if near is None else (near[0] * shrink, near[1] * shrink)
    found = slopes(small)
    seeds = _plausible(np.array([*_from_edges(small, found), *_from_circles(small)]).reshape(-1, 5), small.shape, tapped)
    if tapped is not None:
        seeds = np.vstack([seeds, *_from_tap(small, found, tapped)])
    ranked = _ranked(found, seeds)[: 3 * _KEPT]
    fitted = [_fitted(found, axes, 0.12) for axes in ranked]
    again = _ranked(
        found, _plausible(np.array([axes for axes in fitted if axes is not None]).reshape(-1, 5), small.shape, tapped)
    )
    fine = slopes(image, 0.8) if shrink < 1 else found
    full = np.array([shrink, shrink, shrink, shrink, 1])
    refined = [rim_of(image, fine, nested / full) for nested in _clusters(found, again)[: 3 * most]]
    kept: list[Ellipse] = []
    for ellipse in refined:
        if ellipse is not None and ellipse.support >= _ENOUGH and not any(o.holds(ellipse.x, ellipse.y, 1.3) for o in kept):
            kept.append(ellipse)
    return kept[:most]


def _plausible(axes: Floats, shape: tuple[int, ...], near: tuple[float, float] | None) -> Floats:
    if not len(axes):
        return axes
    x, y, a, b, _ = axes.T
    good = (a >= b) & (b >= 6) & (b >= FLATTEST * a) & (a <= 0.6 * max(shape[:2]))
    good &= (x > 0) & (y > 0) & (x < shape[1]) & (y < shape[0])
    if near is not None:
        good &= np.hypot(x - near[0], y - near[1]) <= 1.6 * a
    return np.asarray(axes[good], dtype=np.float64)


def _from_edges(small: npt.NDArray[np.uint8], found: Slopes) -> Iterator[Floats]:
    """Ellipses through runs of edge pixels, at several strengths and in brightness and colour."""
    lab = found.lab.clip(0, 255).astype(np.uint8)
    pictures = [lab[..., 0], lab[..., 1], lab[..., 2], lab[..., 0]]
    for channel, (low, high) in zip(pictures, ((20, 60), (10, 25), (10, 25), (50, 130)), strict=True):
        edges = cv2.Canny(channel, low, high)
        yield from _through(cv2.findContours(edges, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)[0])
        closed = cv2.dilate(edges, np.ones((3, 3), np.uint8))
        yield from _through(cv2.findContours(closed, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)[0])
    for channel in pictures[:3]:
        _, dark = cv2.threshold(channel, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
        local = cv2.adaptiveThreshold(channel, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY, 101, -6)
        other = cv2.adaptiveThreshold(channel, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, 101, 6)
        for mask in (dark, local, other):
            opened = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
            yield from _through(cv2.findContours(opened, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)[0])


def _through(contours: object) -> Iterator[Floats]:
    for run in contours:  # type: ignore[attr-defined]
        if len(run) < 24:
            continue
        points = run[:, 0].astype(np.float32)
        hull = cv2.convexHull(points)[:, 0]
        for sample in (points, hull):
            if len(sample) >= 6:
                (x, y), (first, second), degrees = cv2.fitEllipseDirect(sample)
                yield ordered(x, y, first / 2, second / 2, np.radians(degrees))


def _from_circles(small: npt.NDArray[np.uint8]) -> Iterator[Floats]:
    """Circles by votes of the gradient, for a coin seen from above among clutter."""
    grey = cv2.GaussianBlur(cv2.cvtColor(small, cv2.COLOR_RGB2GRAY), (0, 0), 1.5)
    voted = cv2.HoughCircles(
        grey, cv2.HOUGH_GRADIENT, 1.5, 12, param1=60, param2=28, minRadius=8, maxRadius=max(small.shape[:2]) // 4
    )
    if voted is not None:
        for x, y, radius in np.asarray(voted).reshape(-1, 3)[:40]:
            yield np.array([x, y, radius, radius, 0.0], dtype=np.float64)


def _from_tap(small: npt.NDArray[np.uint8], found: Slopes, near: tuple[float, float]) -> Iterator[Floats]:
    """Ellipses through edges met by rays from the tap, circles of many sizes first."""
    sizes = np.geomspace(8, max(small.shape[:2]) / 4, 28)
    yield np.stack([[near[0], near[1], size, size, 0.0] for size in sizes])


def _ranked(found: Slopes, axes: Floats) -> Floats:
    """Best borne out first, near-doubles left out."""
    if not len(axes):
        return axes
    worth = _worth(found, axes)
    kept: list[int] = []
    for index in np.argsort(-worth):
        x, y, a, b = axes[index][:4]
        twins = [
            k
            for k in kept
            if abs(axes[k][0] - x) + abs(axes[k][1] - y) < 0.05 * a
            and abs(axes[k][2] - a) < 0.03 * a
            and abs(axes[k][3] - b) < 0.03 * a
        ]
        if not twins:
            kept.append(int(index))
        if len(kept) >= 4 * _KEPT:
            break
    return axes[kept]


def _worth(found: Slopes, axes: Floats) -> Floats:
    """How well the edges bear out ellipses (n, 5): supported share of the outline, less for weak and for small ones."""
    points, out = outlines(axes, AROUND)
    strength, agree = support(found, points, out)
    height, width = found.strength.shape
    inside = (points > 1).all(-1) & (points[..., 0] < width - 2) & (points[..., 1] < height - 2)
    firm = (strength > 1.5 * found.floor) & inside
    share = (firm * agree).mean(axis=1)
    typical = np.median(np.where(firm, strength, 0), axis=1)
    return np.asarray(share + 0.12 * np.tanh(typical / 8) + 0.03 * np.log(axes[:, 2] / 20), dtype=np.float64)


def _fitted(found: Slopes, axes: Floats, reach: float) -> Floats | None:
    """The ellipse refitted to edges within `reach` of its size, three times narrower each time; None where it falls apart."""
    current = axes
    for narrower in (1.0, 0.5, 0.25):
        span = max(3, int(reach * narrower * current[2]))
        points, out = outlines(current[None], AROUND, 0)
        steps = np.arange(-span, span + 1)
        grid = points[:, None] + out[:, None] * steps[None, :, None]
        strength, agree = support(found, grid, np.broadcast_to(out[:, None], grid.shape), 0)
        place = steps[(strength * agree**2).argmax(axis=1)]
        firm = strength.max(axis=1) > 1.5 * found.floor
        edge = points + out * place[:, None]
        refitted = _robust(edge[firm], current)
        if refitted is None:
            return None
        current = refitted
    return current


def _robust(points: Floats, guess: Floats) -> Floats | None:
    """Ellipse through most of the points: best of many through six of them, then through all that lie close to it."""
    if len(points) < 16:
        return None
    rng = np.random.default_rng(len(points))
    best, agreed = None, np.zeros(len(points), bool)
    for trial in range(60):
        pick = points if trial == 0 else points[rng.choice(len(points), 7, replace=False)]
        axes = fitted_directly(pick)
        if axes is None or axes[3] < FLATTEST * 0.8 * axes[2] or not 0.6 < axes[2] / guess[2] < 1.6:
            continue
        close = np.abs(away(points, axes)) < max(1.2, 0.012 * axes[2])
        if close.sum() > agreed.sum():
            best, agreed = axes, close
    if best is None or agreed.sum() < 0.4 * len(points):
        return None
    return fitted_directly(points[agreed])


def _clusters(found: Slopes, ranked: Floats) -> list[Floats]:
    """Ellipses round the same middle taken together, best borne out first, at most six of each."""
    worth = _worth(found, ranked) if len(ranked) else np.empty(0)
    clusters: list[list[int]] = []
    for index in np.argsort(-worth):
        x, y, a = ranked[index][:3]
        for cluster in clusters:
            first = ranked[cluster[0]]
            if np.hypot(first[0] - x, first[1] - y) < 0.5 * max(first[2], a):
                if 0.7 < a / first[2] < 1.4 and len(cluster) < 6:
                    cluster.append(int(index))
                break
        else:
            clusters.append([int(index)])
    return [ranked[cluster] for cluster in clusters]
