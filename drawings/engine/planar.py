"""Pixels to a planar map: slivers cleaned away, then arcs between junctions that neighbours share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import find_objects

from engine.raster import FAR, PLAIN, Picture
from engine.shapes import Floats

SILHOUETTE, STEP, SHUT, CREASE, BORDER = 1, 2, 3, 4, 5


@dataclass
class Arc:
    """points (n, 2): pixel corners (x, y) from junction to junction; left, right: the labels beside it; ink: its class.

    middles (n - 1, 2): where the border passes between two corners, on the line from one pixel's middle to the other's.
    """

    points: NDArray[np.int64]
    middles: Floats
    left: int
    right: int
    ink: int
    pieces: list[tuple[Floats, ...]] = field(default_factory=list)


def clean(picture: Picture, least: float = 240, thin: float = 6, kept: Sequence[int] = ()) -> Picture:
    """Slivers thinner than `thin` mm and islands under `least` mm2 take their neighbour's pixels; labels `kept` do not."""
    n, few = max(2, round(thin / picture.px)), max(6, round(least / picture.px**2))
    label = picture.label
    bad = np.zeros(label.shape, np.uint8)
    for number, at in enumerate(find_objects(label), 1):
        if at is None or number in kept:
            continue
        mask = np.pad((label[at] == number).astype(np.uint8), n)
        solid = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((n, n), np.uint8))
        for _ in range(n - 1):  # corners come back, whiskers do not
            solid = cv2.dilate(solid, np.ones((3, 3), np.uint8)) & mask
        count, parts, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
        small = stats[:count, cv2.CC_STAT_AREA] < few
        small[0] = True
        bad[at] |= ((mask > 0) & small[parts])[n:-n, n:-n].astype(np.uint8)
    bad |= _pinholes(label, few)
    first = _filled(picture, bad & (label > 0), label > 0, 2 * n)
    left = bad & (first.label == label) if first is not picture else bad
    return _filled(first, left.astype(np.uint8), np.ones(label.shape, np.bool_), 1e9)


def _pinholes(label: NDArray[np.int32], few: int) -> NDArray[np.uint8]:
    """See-through specks: islands of nothing that are smaller than `few` pixels or thinner than a line."""
    nothing = (label == 0).astype(np.uint8)
    count, parts, stats, _ = cv2.connectedComponentsWithStats(nothing, connectivity=4)
    thick = cv2.distanceTransform(nothing, cv2.DIST_L2, 3)
    widest = np.zeros(count, np.float32)
    np.maximum.at(widest, parts.ravel(), thick.ravel())
    small = (stats[:, cv2.CC_STAT_AREA] < 2 * few) | (widest < 4)
    small[0] = False
    return small[parts].astype(np.uint8)


def _filled(picture: Picture, bad: NDArray[np.uint8], source_ok: NDArray[np.bool_], reach: float) -> Picture:
    """Pixels marked bad take the nearest good pixel among those that are `source_ok`, where one lies within `reach`."""
    far = ((bad > 0) | ~source_ok).astype(np.uint8)
    if not bad.any() or far.all():
        return picture
    distance, nearest = cv2.distanceTransformWithLabels(far, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
    good = np.nonzero(far.ravel() == 0)[0]
    source = np.zeros(int(nearest.max()) + 1, np.int64)
    source[nearest.ravel()[good]] = good
    at = np.nonzero((bad.ravel() > 0) & (distance.ravel() <= reach))[0]
    come = _agreed(picture.label, bad, at, source[nearest.ravel()[at]])
    fill: dict[str, Any] = {}
    for name in ("label", "depth", "normal", "sheet", "sharp"):
        buffer = getattr(picture, name).copy()
        flat = buffer.reshape(bad.size, -1)
        flat[at] = flat[come]
        fill[name] = buffer
    return replace(picture, **fill)


def _agreed(
    label: NDArray[np.int32], bad: NDArray[np.uint8], at: NDArray[np.int64], come: NDArray[np.int64], most: int = 48
) -> NDArray[np.int64]:
    """Where pixels come from, so that a piece of at most `most` pixels goes whole to the one label most of it lies near."""
    count, parts, stats, _ = cv2.connectedComponentsWithStats(bad, connectivity=8)
    small = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(1) <= most
    part, near = parts.ravel()[at], label.ravel()[come]
    order = np.argsort(part, kind="stable")
    ends = np.searchsorted(part[order], np.arange(count + 1))
    come = come.copy()
    for k in range(1, count):
        piece = order[ends[k] : ends[k + 1]]
        if small[k] and len(piece) and (near[piece] != near[piece[0]]).any():
            labels, shares = np.unique(near[piece], return_counts=True)
            ours = near[piece] == labels[shares.argmax()]
            others, sources = piece[~ours], come[piece[ours]]
            (i, j), (p, q) = (np.divmod(t, label.shape[1]) for t in (at[others], sources))
            come[others] = sources[((i[:, None] - p) ** 2 + (j[:, None] - q) ** 2).argmin(1)]
    return come


def arcs_of(picture: Picture, jump: float = 26, bend: float = 0.87) -> list[Arc]:
    """The arcs of a picture: borders of labels, steps in depth of more than `jump` mm, bends of more than 30 degrees."""
    return _walked(_cracks(picture, jump, bend))


def outlines_of(label: NDArray[np.int32]) -> list[Arc]:
    """The arcs of a bare label image."""
    h, w = label.shape
    blank = np.zeros((h, w), np.float32)
    halfway = np.full((h + 1, w), 0.5, np.float32), np.full((h, w + 1), 0.5, np.float32)
    flat, number, no = np.zeros((h, w, 3), np.float32), blank.astype(np.int32), blank.astype(np.bool_)
    picture = Picture(label, blank, flat, number, no, 1, (0, 0, w, h), np.eye(3), *halfway)
    return _walked(_cracks(picture, 1e9, -2))


Corner = tuple[int, int]
Beside = tuple[int, int, int, float]
Edges = dict[tuple[Corner, Corner], Beside]


def _cracks(p: Picture, jump: float, bend: float) -> Edges:
    """Pixel cracks ((row, col), (row, col)) -> label above or left, label below or right, class, offset of the border."""
    L = np.pad(p.label, 1)
    D = np.pad(p.depth, 1, constant_values=FAR)
    S, K = np.pad(p.sheet, 1, constant_values=-1), np.pad(p.sharp, 1)
    up, down, left, right = np.s_[:-1, 1:-1], np.s_[1:, 1:-1], np.s_[1:-1, :-1], np.s_[1:-1, 1:]
    edges: Edges = {}
    for a, b, shift, across in ((up, down, p.down, True), (left, right, p.across, False)):
        A, B = L[a], L[b]
        differ, both = A != B, (A > 0) & (B > 0)
        solid = both & (S[a] != PLAIN) & (S[b] != PLAIN)
        step, bent = np.zeros_like(differ), np.zeros_like(differ)
        apart = np.abs(D[a] - D[b])
        at = np.nonzero(solid & (apart > jump))
        slope = np.minimum(*(_slope(p, n) for n in _normals_beside(p, at, across)))
        step[at] = apart[at] > jump + 1.6 * slope
        at = np.nonzero(solid & ~step & ((S[a] != S[b]) | K[a]))
        one, other = _normals_beside(p, at, across)
        bent[at] = (one * other).sum(-1) < bend
        kind = np.where(differ & ~both, SILHOUETTE, np.where(step, STEP, np.where(differ, SHUT, np.where(bent, CREASE, 0))))
        at = np.nonzero(kind)
        beside = zip(*(q[at].tolist() for q in (A, B, kind)), (shift[at].astype(float) - 0.5).tolist(), strict=True)
        for i, j, one in zip(*(t.tolist() for t in at), beside, strict=True):
            edges[(i, j), (i, j + 1) if across else (i + 1, j)] = one
    return edges


def _normals_beside(p: Picture, at: tuple[Any, ...], across: bool) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """The normals above and below, or left and right, of cracks between two pixels of the picture."""
    i, j = at
    return p.normal[(i - 1, j) if across else (i, j - 1)], p.normal[i, j]


def _slope(p: Picture, normal: NDArray[np.float32]) -> NDArray[np.float32]:
    """How fast a surface falls away from one pixel to the next: seen at a grazing angle, fast."""
    facing = (normal * p.axes[2].astype(np.float32)).sum(-1)
    return p.px * np.minimum(1 / np.maximum(np.abs(facing), 1e-3), 400)


def _walked(edges: Edges) -> list[Arc]:
    near: dict[Corner, list[Corner]] = {}
    for p, q in edges:
        near.setdefault(p, []).append(q)
        near.setdefault(q, []).append(p)
    used: set[tuple[Corner, Corner]] = set()
    arcs: list[Arc] = []
    junctions = [p for p, others in near.items() if len(others) != 2]
    for start, goes in ((p, q) for p in junctions for q in near[p]):
        if (start, goes) not in used and (goes, start) not in used:
            arcs += _walk(start, goes, edges, near, used)
    for start, goes in edges:
        if (start, goes) not in used:
            arcs += _walk(start, goes, edges, near, used)
    return _without_strays(arcs)


def _walk(p: Corner, q: Corner, edges: Edges, near: Any, used: Any) -> list[Arc]:
    start, points, beside = p, [p], []
    middles: list[tuple[float, float]] = []
    while True:
        edge = (p, q) if (p, q) in edges else (q, p)
        used.add(edge)
        a, b, kind, off = edges[edge]
        (i, j), (k, _) = edge
        middles.append((j + 0.5, i + off) if i == k else (j + off, i + 0.5))
        above_is_left = q[1] > p[1] or q[0] < p[0]
        beside.append((a, b, kind) if above_is_left else (b, a, kind))
        points.append(q)
        if len(near[q]) != 2 or q == start:
            break
        p, q = q, next(r for r in near[q] if r != p)
    return _split_by_class(np.array(points)[:, ::-1], np.array(middles), beside)


def _split_by_class(
    points: NDArray[np.int64], middles: Floats, beside: list[tuple[int, int, int]], shortest: int = 24, share: float = 0.16
) -> list[Arc]:
    """One arc, or several where the class changes for a good stretch; short changes take the class before them."""
    left, right = beside[0][:2]
    kinds = np.array([k for *_, k in beside])
    shortest = max(shortest, int(share * len(kinds)))  # a line keeps its weight, but for a good part of its length
    cuts = [0, *(np.nonzero(np.diff(kinds))[0] + 1).tolist(), len(kinds)]
    runs = [(a, b, int(kinds[a])) for a, b in pairwise(cuts)]
    long = [r for r in runs if r[1] - r[0] >= shortest]
    if len(long) < 2:
        values, counts = np.unique(kinds, return_counts=True)
        return [Arc(points, middles, left, right, int(values[counts.argmax()]))]
    merged: list[list[int]] = []
    for a, b, kind in long:
        if merged and merged[-1][2] == kind:
            merged[-1][1] = b
        else:
            merged.append([a, b, kind])
    merged[0][0], merged[-1][1] = 0, len(kinds)
    for before, after in pairwise(merged):
        before[1] = after[0]
    return [Arc(points[a : b + 1], middles[a:b], left, right, kind) for a, b, kind in merged]


def _without_strays(arcs: list[Arc]) -> list[Arc]:
    """Without creases that border nothing and are too short to say anything, or hang loose at one end."""
    ends: dict[tuple[int, int], int] = {}
    for arc in arcs:
        for end in (arc.points[0], arc.points[-1]):
            ends[tuple(end)] = ends.get(tuple(end), 0) + 1

    def loose(arc: Arc) -> bool:
        return min(ends[tuple(arc.points[0])], ends[tuple(arc.points[-1])]) == 1

    return [a for a in arcs if a.left != a.right or (len(a.points) > 24 and not (len(a.points) < 90 and loose(a)))]


def settled(arcs: list[Arc], reach: int = 14) -> dict[tuple[int, int], Floats]:
    """Where junctions belong: on the smooth run of the heaviest line that passes straight through them."""
    meeting: dict[tuple[int, int], list[tuple[int, Floats]]] = {}
    for arc in arcs:
        if len(arc.points) > 5 and (arc.points[0] != arc.points[-1]).any():
            for end, run in ((arc.points[0], arc.middles[:reach]), (arc.points[-1], arc.middles[::-1][:reach])):
                meeting.setdefault((int(end[0]), int(end[1])), []).append((arc.ink, run))
    moved: dict[tuple[int, int], Floats] = {}
    for at, runs in meeting.items():
        best: tuple[float, Floats, Floats] | None = None
        for i, (ink, one) in enumerate(runs):
            for other_ink, other in runs[i + 1 :]:
                a, b = one[-1] - np.array(at), other[-1] - np.array(at)
                straight = -float((a * b).sum()) / float(np.sqrt((a * a).sum() * (b * b).sum()) + 1e-9)
                if straight > 0.9 and (best is None or max(ink, other_ink) - straight < best[0]):
                    best = (max(ink, other_ink) - straight, one, other)
        if best is not None:
            moved[at] = _through(best[1], best[2])
    return moved


def _through(one: Floats, other: Floats) -> Floats:
    """The point at the joint of two runs on the quadratic curve through both."""
    points = np.vstack([one[::-1], other])
    t = np.r_[-np.arange(len(one))[::-1] - 0.5, np.arange(len(other)) + 0.5]
    m0, m1, m2, m3, m4 = (float((t**k).sum()) for k in range(5))
    r0, r1, r2 = points.sum(0), (points * t[:, None]).sum(0), (points * (t**2)[:, None]).sum(0)
    det = m0 * (m2 * m4 - m3 * m3) - m1 * (m1 * m4 - m2 * m3) + m2 * (m1 * m3 - m2 * m2)
    return (r0 * (m2 * m4 - m3 * m3) - m1 * (r1 * m4 - m3 * r2) + m2 * (r1 * m3 - m2 * r2)) / det
