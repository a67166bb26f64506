"""Borders in a pixel picture to straight lines, circles, ellipses and cubic pieces, corners kept."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, minimum_filter1d
from scipy.signal import savgol_filter

from engine.shapes import Floats

Pieces = list[tuple[Floats, ...]]


def smooth(points: NDArray[Any], middles: Floats, tol: float = 0.9, ends: tuple[Any, Any] | None = None) -> Pieces:
    """A border as pieces (p0, p3) straight or (p0, c1, c2, p3) cubic, within about `tol` pixels.

    points : (n, 2), pixel corners. middles : (n - 1, 2), where the border passes between them, known to a small part of a pixel
    but where they lie halfway between pixels. ends : where an open line begins and ends instead of at its first and last corner.
    """
    points = np.asarray(points, float)
    rough = (middles == (points[1:] + points[:-1]) / 2).all(1)
    fine = rough.mean() < 0.5
    closed = len(points) > 3 and bool((points[0] == points[-1]).all())
    q = middles if closed else np.vstack([points[:1], middles, points[-1:]])
    coarse = (rough if closed else np.r_[True, rough, True]).astype(float)
    coarse = gaussian_filter1d(coarse, 6.0, mode="wrap" if closed else "nearest")
    if ends is not None and not closed:
        q[0], q[-1] = ends
    if len(q) < 5:
        ring = np.vstack([q, q[:1]]) if closed else q[[0, -1]]
        return [(a, b) for a, b in pairwise(ring)]
    q, cuts, first = _cut_at_corners(q, closed, fine)
    coarse = np.r_[np.roll(coarse, -first), coarse[first]] if closed else coarse
    whole = closed and len(cuts) == 2
    if whole and fine and (round_ := _ellipse(q[:-1], tol)):
        return round_
    sections = [_eased(q[a : b + 1], coarse[a : b + 1], whole) for a, b in pairwise(cuts) if b > a]
    sections = _squared(sections, closed and not whole, 0.4 if fine else 0.8)
    if whole:
        along = _unit(sections[0][2] - sections[0][-3])
        return _fitted(sections[0], tol, along, -along)
    out: Pieces = []
    for section in sections:
        out += _fitted(section, tol)
    return out


def _ellipse(q: Floats, tol: float) -> Pieces | None:
    """The ellipse through a ring of points, where they lie on one within `tol`, as four cubics."""
    middle, size = q.mean(0), float(np.abs(q - q.mean(0)).max())
    if size > 400:
        return None
    x, y = ((q - middle) / size).T
    terms = np.stack([x * x, x * y, y * y, x, y], 1)
    a, b, c, d, e = np.linalg.lstsq(terms, np.ones(len(q)), rcond=None)[0]
    det = 4 * a * c - b * b
    if det <= 1e-6 or a <= 0:
        return None
    centre = np.array([b * e - 2 * c * d, b * d - 2 * a * e]) / det
    level = 1 + (a * centre[0] ** 2 + b * centre[0] * centre[1] + c * centre[1] ** 2)
    turn = 0.5 * np.arctan2(b, a - c)
    u = np.array([np.cos(turn), np.sin(turn)])
    v = np.array([-u[1], u[0]])
    square = [a * w[0] ** 2 + b * w[0] * w[1] + c * w[1] ** 2 for w in (u, v)]
    if level <= 0 or min(square) <= 1e-6:
        return None
    p, r = (float(np.sqrt(level / k)) for k in square)
    if abs(p - r) * size < 0.3:  # a circle
        p = r = (p + r) / 2
        u, v = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    along, over = ((np.stack([x, y], 1) - centre) * w for w in (u, v))
    off = np.abs(np.sqrt((along.sum(1) / p) ** 2 + (over.sum(1) / r) ** 2) - 1) * min(p, r) * size
    if off.max() > tol:
        return None
    at, p, r = middle + centre * size, u * p * size, v * r * size
    k = 0.5522847
    corners = [(p, r), (r, -p), (-p, -r), (-r, p)]
    return [(at + m, at + m + k * n, at + n + k * m, at + n) for m, n in corners]


def _cut_at_corners(q: Floats, closed: bool, fine: bool) -> tuple[Floats, list[int], int]:
    """The points, rolled to begin at a corner when closed, the numbers of the ends and corners, and by how many rolled."""
    least = 0.88 if fine else 0.8
    n = len(q)
    k = min(9, max(2, n // 4))
    i = np.arange(n)
    before, after = (q[(i - k) % n], q[(i + k) % n]) if closed else (q[np.clip(i - k, 0, n - 1)], q[np.clip(i + k, 0, n - 1)])
    v1, v2 = q - before, after - q
    cosine = (v1 * v2).sum(1) / (np.sqrt((v1 * v1).sum(1) * (v2 * v2).sum(1)) + 1e-9)
    if not closed:
        cosine[: k // 2 + 1] = cosine[-(k // 2 + 1) :] = 1
    cosine = np.where(_sharp(q, closed, fine) < least, cosine, 1)
    lowest = minimum_filter1d(cosine, 2 * k + 1, mode="wrap" if closed else "nearest")
    corners = np.nonzero((cosine == lowest) & (cosine < least))[0]
    if len(corners):
        corners = corners[np.insert(np.diff(corners) > k, 0, True)]
    if not closed:
        return q, [0, *corners.tolist(), n - 1], 0
    first = int(corners[0]) if len(corners) else 0
    ring = np.roll(q, -first, 0)
    return np.vstack([ring, ring[:1]]), [0, *[int(c - first) % n for c in corners if c != first], n], first


def _sharp(q: Floats, closed: bool, fine: bool) -> Floats:
    """Cosine of the line's turn within a few pixels: small at a corner, not on a small round."""
    n, k = len(q), 2 if fine else 4
    i = np.arange(n)
    g = q if fine else gaussian_filter1d(q, 0.8, axis=0, mode="wrap" if closed else "nearest")
    before, after = (g[(i - k) % n], g[(i + k) % n]) if closed else (g[np.clip(i - k, 0, n - 1)], g[np.clip(i + k, 0, n - 1)])
    v1, v2 = g - before, after - g
    cosine = (v1 * v2).sum(1) / (np.sqrt((v1 * v1).sum(1) * (v2 * v2).sum(1)) + 1e-9)
    return minimum_filter1d(cosine, 5, mode="wrap" if closed else "nearest")


def _eased(piece: Floats, coarse: Floats, whole: bool) -> Floats:
    """The stretch between corners with its staircase taken out; its ends stay unless it is a whole ring."""
    if len(piece) <= 6:
        return piece
    if whole:
        g = _adapted(piece[:-1], coarse[:-1], "wrap")
        return np.vstack([g, g[:1]])
    n = min(40, len(piece) - 1)  # turned over beyond its ends, so that these stay where they are
    longer = np.vstack([2 * piece[0] - piece[n:0:-1], piece, 2 * piece[-1] - piece[-2 : -n - 2 : -1]])
    wider = np.r_[coarse[n:0:-1], coarse, coarse[-2 : -n - 2 : -1]]
    g = _adapted(longer, wider, "nearest")[n : n + len(piece)]
    g[0], g[-1] = piece[0], piece[-1]
    return g


def _adapted(q: Floats, coarse: Floats, mode: str) -> Floats:
    """Smoothed widely where the line runs straight or bends gently, narrowly where it bends tightly.

    coarse : 0 where the points are known well, 1 where to a pixel: the better they are known, the less they are smoothed. The
    wide one is a parabola fitted to the neighbourhood of each point, which leaves a circle a circle.
    """
    share = np.clip(coarse * 3, 0, 1)
    narrow = gaussian_filter1d(q, 1.2, axis=0, mode=mode)
    narrow += (gaussian_filter1d(q, 2.4, axis=0, mode=mode) - narrow) * share[:, None]
    for reach, least in ((17, 0.12 + 0.38 * share), (37, 0.12 + 0.58 * share)):
        if len(q) > 2 * reach + 1:
            wide = savgol_filter(q, 2 * reach + 1, 2, axis=0, mode=mode)
            apart = np.sqrt(((narrow - wide) ** 2).sum(1))
            close = minimum_filter1d((apart < least).astype(float), reach // 2, mode=mode)
            weight = gaussian_filter1d(close, 4.0, mode=mode)[:, None]
            narrow = wide * weight + narrow * (1 - weight)
    return narrow


def _line(section: Floats, last: bool, within: float) -> tuple[Floats, Floats] | None:
    """The straight line (point, direction) that a section follows near its corner, some pixels away from it; else None."""
    near = section[::-1] if last else section
    part = near[5:29]
    if len(part) < 8:
        return None
    middle = part.mean(0)
    d = part - middle
    sxx, sxy, syy = (d[:, 0] ** 2).sum(), (d[:, 0] * d[:, 1]).sum(), (d[:, 1] ** 2).sum()
    angle = 0.5 * np.arctan2(2 * sxy, sxx - syy)
    u = np.array([np.cos(angle), np.sin(angle)])
    off = np.abs(d[:, 0] * u[1] - d[:, 1] * u[0])
    return (middle, u) if off.max() < within else None


def _squared(sections: list[Floats], ring: bool, within: float) -> list[Floats]:
    """Corners between straight stretches moved to where the two lines meet, so that right angles stay right."""
    pairs = [(i, i + 1) for i in range(len(sections) - 1)] + ([(len(sections) - 1, 0)] if ring and len(sections) > 1 else [])
    for i, j in pairs:
        one, other = _line(sections[i], True, within), _line(sections[j], False, within)
        if one is None or other is None:
            continue
        (p, u), (r, v) = one, other
        cross = u[0] * v[1] - u[1] * v[0]
        if abs(cross) < 0.3:
            continue
        t = ((r[0] - p[0]) * v[1] - (r[1] - p[1]) * v[0]) / cross
        meet = p + u * t
        if ((meet - sections[j][0]) ** 2).sum() < 100:
            sections[i] = np.vstack([sections[i][:-5], meet[None]])
            sections[j] = np.vstack([meet[None], sections[j][5:]])
    return sections


def _fitted(q: Floats, tol: float, t0: Floats | None = None, t1: Floats | None = None, depth: int = 0) -> Pieces:
    chord = q[-1] - q[0]
    length = float(np.sqrt((chord**2).sum()))
    if length > 1e-6:
        off = np.abs((q[:, 0] - q[0, 0]) * chord[1] - (q[:, 1] - q[0, 1]) * chord[0]) / length
        if len(q) < 3 or off.max() < tol * 0.95:
            return [(q[0], q[-1])]
    t0 = _setting_out(q) if t0 is None else t0
    t1 = _setting_out(q[::-1]) if t1 is None else t1
    cubic, error = _cubic(q, t0, t1, length)
    if error.max() < tol:
        return [cubic]
    if len(q) < 6 or depth > 12:
        return [(q[0], q[-1])]
    k = int(np.clip(error.argmax(), 2, len(q) - 3))
    t = _unit(q[max(0, k - 5)] - q[min(len(q) - 1, k + 5)])
    return _fitted(q[: k + 1], tol, t0, t, depth + 1) + _fitted(q[k:], tol, -t, t1, depth + 1)


def _setting_out(q: Floats) -> Floats:
    """The direction at the first point: of the parabola through it and two more, of the chord where there are few points."""
    m = max(1, min(8, len(q) // 3))
    return _unit(4 * q[m // 2] - q[m] - 3 * q[0] if m >= 4 else q[m] - q[0])


def _unit(v: Floats) -> Floats:
    return v / (float(np.sqrt((v**2).sum())) or 1.0)


def _cubic(q: Floats, t0: Floats, t1: Floats, length: float) -> tuple[tuple[Floats, ...], Floats]:
    """The cubic with these end tangents that lies closest to the points, and its distance to each of them."""
    s = np.r_[0, np.cumsum(np.sqrt((np.diff(q, axis=0) ** 2).sum(1)))]
    reach = 0.75 * float(s[-1])
    s = s / (s[-1] or 1)
    for _ in range(3):
        b0, b1, b2, b3 = (1 - s) ** 3, 3 * s * (1 - s) ** 2, 3 * s * s * (1 - s), s**3
        rest = q - (b0 + b1)[:, None] * q[0] - (b2 + b3)[:, None] * q[-1]
        a11, a22 = (b1 * b1).sum(), (b2 * b2).sum()
        a12 = (b1 * b2).sum() * float((t0 * t1).sum())
        r1, r2 = (b1 * (rest * t0).sum(1)).sum(), (b2 * (rest * t1).sum(1)).sum()
        det = a11 * a22 - a12 * a12
        h0, h1 = ((r1 * a22 - r2 * a12) / det, (r2 * a11 - r1 * a12) / det) if abs(det) > 1e-12 else (0.0, 0.0)
        if min(h0, h1) < length * 1e-2 or max(h0, h1) > reach:
            h0 = h1 = max(length, 1) / 3
        c1, c2 = q[0] + t0 * h0, q[-1] + t1 * h1
        B = b0[:, None] * q[0] + b1[:, None] * c1 + b2[:, None] * c2 + b3[:, None] * q[-1]
        error = np.sqrt(((B - q) ** 2).sum(1))
        d1 = (
            3 * ((1 - s) ** 2)[:, None] * (c1 - q[0])
            + 6 * (s * (1 - s))[:, None] * (c2 - c1)
            + 3 * (s**2)[:, None] * (q[-1] - c2)
        )
        s = np.maximum.accumulate(np.clip(s - ((B - q) * d1).sum(1) / ((d1 * d1).sum(1) + 1e-9), 0, 1))
    return (q[0], c1, c2, q[-1]), error
