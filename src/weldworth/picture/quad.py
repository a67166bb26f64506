"""Finding a card or sheet: four straight edges round a rectangle of known sides, each to a fraction of a pixel."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from weldworth.picture.edges import Floats, Slopes, bumps, profiles, shrunk, slopes, support
from weldworth.picture.pose import Lens, of_quad

_SEEK = 800  # long side in pixels at which quads are looked for
_ENOUGH = 0.6  # share of the outline with an edge along it
_INSET = 0.14  # of each side is left out at its ends: corners are round
_LINES = 34  # straight edges that are put together to quads
_ASKEW = 0.16  # ln of the ratio of sides and cosine of the corner, together, by which it may differ from what is looked for


@dataclass(frozen=True, slots=True, eq=False)
class Quad:
    """corners : (4, 2) pixels in order round it, the first two along the side called width. noise : spread of each in pixels.

    support : share of the outline with an edge along it, half of it that of the weakest side. edge : width of the edge in pixels.
    cut : leaves the picture.
    askew : how far its sides and corner are from the rectangle looked for.
    """

    corners: Floats
    noise: float
    support: float
    edge: float
    cut: bool
    askew: float

    def holds(self, near: tuple[float, float] | None) -> bool:
        """Whether the tap, if any, lies on it or within a twentieth of its size beside it."""
        if near is None:
            return True
        off = -cv2.pointPolygonTest(self.corners.astype(np.float32), (float(near[0]), float(near[1])), True)
        return bool(off <= 0.05 * self.shortest)

    @property
    def shortest(self) -> float:
        """Its shortest side in pixels."""
        return float(np.hypot(*(np.roll(self.corners, -1, axis=0) - self.corners).T).min())


def find_quad(image: npt.NDArray[np.uint8], near: tuple[float, float] | None, ratio: float, focal: float) -> Quad | None:
    """The rectangle of sides ratio : 1 best borne out by edges, in pixels of image (height, width, 3), or None.

    near : a point on it; without it the whole picture is searched. focal : the lens's focal length in pixels, roughly.
    """
    height, width = image.shape[:2]
    shrink = min(1.0, _SEEK / max(height, width))
    small = shrunk(image, shrink)
    found = slopes(small)
    tapped = None if near is None else np.array(near) * shrink
    quads = np.array([*_from_contours(found, tapped)], dtype=np.float64).reshape(-1, 4, 2)
    quads = np.concatenate([quads, _from_lines(small, tapped)])
    if not len(quads):
        return None
    quads, askew = _turned(quads, ratio, focal * shrink, (small.shape[1], small.shape[0]))
    worth = _worth(found, quads) - 1.5 * askew
    best: Quad | None = None
    best_worth = -np.inf
    for index in np.argsort(-np.where(askew < _ASKEW, worth, -9))[:24]:
        if askew[index] >= _ASKEW:
            break
        quad = _refined(image, quads[index] / shrink, ratio, focal)
        if quad is not None and quad.support >= _ENOUGH and quad.askew < _ASKEW and quad.holds(near):
            area = abs(cv2.contourArea(quad.corners.astype(np.float32))) / image.shape[0] / image.shape[1]
            merit = quad.support - 2 * quad.askew + 0.04 * np.log(area)
            if merit > best_worth:
                best, best_worth = quad, merit
    return best


def _from_contours(found: Slopes, near: Floats | None) -> Iterator[Floats]:
    lab = found.lab.clip(0, 255).astype(np.uint8)
    least = 0.0008 * lab.shape[0] * lab.shape[1]
    masks = []
    for channel in (lab[..., 0], lab[..., 1], lab[..., 2]):
        for low, high in ((10, 25), (20, 60), (50, 120)):
            masks.append(cv2.dilate(cv2.Canny(channel, low, high), np.ones((3, 3), np.uint8)))
        masks.append(cv2.threshold(channel, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)[1])
        masks.append(cv2.adaptiveThreshold(channel, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY, 151, -6))
        masks.append(cv2.adaptiveThreshold(channel, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, 151, 6))
    if near is not None:
        masks += _alike(lab, near)
    for mask in masks:
        for run in cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)[0]:
            hull = cv2.convexHull(run)
            if cv2.contourArea(hull) < least or (
                near is not None and cv2.pointPolygonTest(hull, tuple(map(float, near)), True) < -8
            ):
                continue
            for loose in (0.02, 0.04, 0.07):
                four = cv2.approxPolyDP(hull, loose * cv2.arcLength(hull, True), True)
                if len(four) == 4:
                    yield four[:, 0].astype(np.float64)
                    break


def _alike(lab: npt.NDArray[np.uint8], near: Floats) -> Iterator[npt.NDArray[np.uint8]]:
    """Patches of the tapped colour, three tolerances."""
    x, y = (int(np.clip(v, 2, lab.shape[1 - i] - 3)) for i, v in enumerate(near))
    seed = np.median(lab[y - 2 : y + 3, x - 2 : x + 3].reshape(-1, 3), axis=0)
    for tolerance in (12, 22, 36):
        mask = ((np.abs(lab.astype(float) - seed) * [0.6, 1.2, 1.2]).max(axis=-1) < tolerance).astype(np.uint8) * 255
        opened = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
        yield np.asarray(cv2.morphologyEx(opened, cv2.MORPH_CLOSE, np.ones((15, 15), np.uint8)), dtype=np.uint8)


def _from_lines(small: npt.NDArray[np.uint8], near: Floats | None) -> Floats:
    """Quads from the longest straight edges: two pairs of opposite lines, the tap between both."""
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2LAB)
    runs = [cv2.createLineSegmentDetector().detect(cv2.GaussianBlur(grey[..., c], (0, 0), 1.0))[0] for c in range(3)]
    lines = np.concatenate([run.reshape(-1, 4) for run in runs if run is not None] or [np.empty((0, 4))]).astype(np.float64)
    length = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
    if near is not None:
        middle = (lines[:, :2] + lines[:, 2:]) / 2
        length = length / (1 + np.hypot(*(middle - near).T) / (0.2 * max(small.shape[:2])))
    lines = _different(lines[np.argsort(-length)[: 8 * _LINES]])[:_LINES]
    if len(lines) < 4:
        return np.empty((0, 4, 2))
    start, run = lines[:, :2], lines[:, 2:] - lines[:, :2]
    normal = np.stack([-run[:, 1], run[:, 0]], axis=1) / np.hypot(*run.T)[:, None]
    full = np.column_stack([normal, -(normal * start).sum(axis=1)])
    one, other = np.triu_indices(len(lines), 1)
    alike = np.abs((normal[one] * normal[other]).sum(axis=1)) > 0.8
    one, other = one[alike], other[alike]
    middle = (lines[:, :2] + lines[:, 2:]) / 2
    gap = np.abs((full[one, :2] * middle[other]).sum(axis=1) + full[one, 2])
    one, other = one[gap > 15], other[gap > 15]
    p, q = np.triu_indices(len(one), 1)
    crossing = np.abs((normal[one[p]] * normal[one[q]]).sum(axis=1)) < 0.75
    p, q = p[crossing], q[crossing]
    corners = [
        np.cross(full[a], full[b]) for a, b in ((one[p], one[q]), (one[p], other[q]), (other[p], other[q]), (other[p], one[q]))
    ]
    with np.errstate(divide="ignore", invalid="ignore"):
        quads = np.stack([corner[:, :2] / corner[:, 2:] for corner in corners], axis=1)
    size = np.array([small.shape[1], small.shape[0]])
    good = np.isfinite(quads).all(axis=(1, 2)) & (quads > -5).all(axis=(1, 2)) & (quads < size + 5).all(axis=(1, 2))
    quads = quads[good]
    if near is not None and len(quads):
        side = np.roll(quads, -1, axis=1) - quads
        turn = side[..., 0] * (near[1] - quads[..., 1]) - side[..., 1] * (near[0] - quads[..., 0])
        quads = quads[(turn > 0).all(axis=1) | (turn < 0).all(axis=1)]
    return quads


def _different(lines: Floats) -> Floats:
    """Lines (k, 4), longest first, without those that run within 3 pixels and 3 degrees of a longer one."""
    run = lines[:, 2:] - lines[:, :2]
    normal = np.stack([-run[:, 1], run[:, 0]], axis=1) / np.maximum(np.hypot(*run.T), 1e-9)[:, None]
    middle = (lines[:, :2] + lines[:, 2:]) / 2
    kept: list[int] = []
    for index in range(len(lines)):
        same = np.abs(normal[kept] @ normal[index]) > 0.9986
        off = np.abs(((middle[index] - middle[kept]) * normal[kept]).sum(axis=1))
        if not (same & (off < 3)).any():
            kept.append(index)
    return lines[kept]


def _turned(quads: Floats, ratio: float, focal: float, size: tuple[int, int]) -> tuple[Floats, Floats]:
    """Each quad with its corners in one sense and begun so that its sides fit `ratio` best, and how far they are from it."""
    side = np.roll(quads, -1, axis=1) - quads
    after = np.roll(side, -1, axis=1)
    turn = side[..., 0] * after[..., 1] - side[..., 1] * after[..., 0]
    quads = quads[(np.abs(np.sign(turn).sum(axis=1)) == 4) & (np.hypot(side[..., 0], side[..., 1]).min(axis=1) > 12)]
    if not len(quads):
        return quads, np.empty(0)
    first, third = quads[:, 1] - quads[:, 0], quads[:, 2] - quads[:, 1]
    sense = first[:, 0] * third[:, 1] - first[:, 1] * third[:, 0]
    quads = np.where(sense[:, None, None] < 0, quads[:, ::-1], quads)
    lens = Lens(size, np.full(len(quads), focal), np.zeros(len(quads)))
    options, misfits = [], []
    for begun in (quads, np.roll(quads, -1, axis=1)):
        flat = begun - np.array(size) / 2 + 0.5
        with np.errstate(all="ignore"):
            try:
                misfit = of_quad(lens, flat, (np.full(len(quads), ratio), np.ones(len(quads))), 0.0)[2]
            except np.linalg.LinAlgError:
                misfit = np.full(len(quads), 9.0)
        options.append(begun)
        misfits.append(np.nan_to_num(misfit, nan=9.0))
    pick = misfits[1] < misfits[0]
    return np.where(pick[:, None, None], options[1], options[0]), np.where(pick, misfits[1], misfits[0])


def _sides(quads: Floats, count: int) -> tuple[Floats, Floats]:
    """Points (n, 4, count, 2) along the sides without their ends, and normals of the same shape."""
    along = np.linspace(_INSET, 1 - _INSET, count)[None, None, :, None]
    start, run = quads[:, :, None], (np.roll(quads, -1, axis=1) - quads)[:, :, None]
    normal = np.stack([run[..., 1], -run[..., 0]], axis=-1) / np.maximum(np.linalg.norm(run, axis=-1, keepdims=True), 1e-9)
    points = start + along * run
    return points, np.broadcast_to(normal, points.shape)


def _worth(found: Slopes, quads: Floats) -> Floats:
    if not len(quads):
        return np.empty(0)
    strength, agree = support(found, *_sides(quads, 20), 2)
    sides = ((strength > 1.5 * found.floor) * agree).mean(axis=2)
    typical = np.median(strength, axis=2).min(axis=1)
    size = np.sqrt(np.abs([cv2.contourArea(quad.astype(np.float32)) for quad in quads]))
    return np.asarray(
        0.6 * sides.mean(axis=1) + 0.4 * sides.min(axis=1) + 0.1 * np.tanh(typical / 8) + 0.04 * np.log(size / 40 + 0.01)
    )


def _refined(image: npt.NDArray[np.uint8], corners: Floats, ratio: float, focal: float) -> Quad | None:
    """Each side fitted to its edge along 60 normals at full size; corners where neighbouring sides meet."""
    size = np.array([image.shape[1], image.shape[0]])
    low = np.maximum(corners.min(axis=0).astype(int) - 24, 0)
    high = np.minimum(corners.max(axis=0).astype(int) + 25, size)
    fine = slopes(np.ascontiguousarray(image[low[1] : high[1], low[0] : high[0]]), 0.8)
    current = corners - low
    firm_share = width = noise = 0.0
    for reach in (max(4.0, 0.03 * np.sqrt(cv2.contourArea(current.astype(np.float32)))), 3.0, 2.0):
        lines, shares, widths, spreads = [], [], [], []
        points, normals = _sides(current[None], 60)
        for side in range(4):
            change = profiles(fine.lab, points[0, side], normals[0, side], reach, along=2.0, closed=False)
            place, _, wide = bumps(change, reach, 1.5 * fine.floor, 1)
            line, close = _straight(points[0, side] + normals[0, side] * place[:, :1], np.isfinite(place[:, 0]))
            if line is None:
                return None
            lines.append(line)
            shares.append(close.mean())
            widths.append(np.median(wide[close]))
            gaps = (points[0, side] + normals[0, side] * place[:, :1])[close] @ line[:2] + line[2]
            spreads.append(np.sqrt((gaps**2).mean()))
        joined = [np.cross(lines[side - 1], lines[side]) for side in range(4)]
        current = np.array([corner[:2] / corner[2] for corner in joined])
        if not np.isfinite(current).all() or np.abs(current - (corners - low)).max() > 0.3 * np.ptp(corners, axis=0).max():
            return None
        firm_share, width, noise = (
            0.5 * float(np.mean(shares)) + 0.5 * float(np.min(shares)),
            float(np.median(widths)),
            float(np.max(spreads)),
        )
    placed = current + low
    turned, askew = _turned(placed[None], ratio, focal, (int(size[0]), int(size[1])))
    if not len(turned):
        return None
    cut = bool((placed < 1).any() or (placed > size - 2).any())
    return Quad(turned[0], noise, firm_share, width, cut, float(askew[0]))


def _straight(points: Floats, known: npt.NDArray[np.bool_]) -> tuple[Floats | None, npt.NDArray[np.bool_]]:
    """Line (a, b, c), a^2 + b^2 = 1, that most points lie close to, and which do."""
    if known.sum() < 12:
        return None, known
    given = np.flatnonzero(known)
    rng = np.random.default_rng(len(given))
    best = np.zeros(len(points), bool)
    for _ in range(40):
        first, second = points[rng.choice(given, 2, replace=False)]
        run = second - first
        if np.hypot(*run) < 2:
            continue
        normal = np.array([-run[1], run[0]]) / np.hypot(*run)
        close = known & (np.abs((points - first) @ normal) < 0.8)
        if close.sum() > best.sum():
            best = close
    if best.sum() < 10:
        return None, best
    middle = points[best].mean(axis=0)
    normal = np.linalg.svd(points[best] - middle)[2][1]
    return np.append(normal, -normal @ middle), best
