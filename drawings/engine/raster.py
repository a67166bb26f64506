"""A body seen square-on: label, depth, normal and sheet for every pixel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from engine.borders import Seen, find_borders
from engine.shapes import Floats, Shape
from engine.solid import Body, Sheet

FAR = -1e5
PLAIN = -2
EVERYWHERE = (-1e6, 1e6, -1e6, 1e6, -1e6, 1e6)


@dataclass
class Picture:
    """Buffers of one view, all (h, w) or (h, w, 3).

    label : label number, 0 where nothing is. depth : mm towards the viewer. normal : unit, turned to the viewer.
    sheet : number of the sheet (blending sheets of one part share one; PLAIN where a view paints over it).
    sharp : whether the sheet's own creases are drawn. px : mm per pixel. bounds : left, bottom, right, top in mm of the picture
    plane. axes : right, up, towards, (3, 3). down : (h + 1, w), how far the border lies on the way from the middle of the pixel
    above a crack to that of the pixel below, 0 to 1; across : (h, w + 1), from the left one to the right one.
    """

    label: NDArray[np.int32]
    depth: NDArray[np.float32]
    normal: NDArray[np.float32]
    sheet: NDArray[np.int32]
    sharp: NDArray[np.bool_]
    px: float
    bounds: tuple[float, float, float, float]
    axes: Floats
    down: NDArray[np.float32]
    across: NDArray[np.float32]


def axes_of(right: Sequence[float], up: Sequence[float]) -> Floats:
    """Unit axes right, up, towards the viewer. x rearwards, y left, z up is left-handed: towards = up x right."""
    r, u = np.asarray(right, float), np.asarray(up, float)
    r, u = r / np.sqrt((r * r).sum()), u / np.sqrt((u * u).sum())
    return np.stack([r, u, np.cross(u, r)])


def render(
    body: Body,
    axes: Floats,
    px: float,
    *,
    without: Sequence[str] = (),
    only: Sequence[str] = (),
    clip: tuple[float, ...] = EVERYWHERE,
    bounds: tuple[float, float, float, float] | None = None,
    pad: float = 40,
    between: int = 0,
) -> Picture:
    """Orthographic view along `axes` at `px` mm per pixel.

    without, only : beginnings of part names to leave out, or to keep. clip : space kept, x0, x1, y0, y1, z0, z1.
    bounds : left, bottom, right, top of the picture plane in mm; by default all that is drawn, with `pad` mm round it.
    between : at how many places between the middles of two pixels a border is looked for; 0 = taken halfway.
    """
    scene = _scene(body)
    kept = np.array([not s.part.startswith(tuple(without)) and s.part.startswith(tuple(only) or ("",)) for s in body.sheets])
    faces, of_sheet = scene.faces[kept[scene.of_face]], scene.of_face[kept[scene.of_face]]
    verts = scene.verts
    seen = verts[:, None, 0] * axes[:, 0] + verts[:, None, 1] * axes[:, 1] + verts[:, None, 2] * axes[:, 2]
    if bounds is None:
        plane = seen[np.repeat(kept, [len(s.verts) for s in body.sheets]), :2]
        (x0, y0), (x1, y1) = plane.min(0) - pad, plane.max(0) + pad
        bounds = (float(np.floor(x0)), float(np.floor(y0)), float(np.ceil(x1)), float(np.ceil(y1)))
    w, h = round((bounds[2] - bounds[0]) / px), round((bounds[3] - bounds[1]) / px)
    label, depth = np.zeros((h, w), np.int32), np.full((h, w), FAR, np.float32)
    face = np.full((h, w), -1, np.int32)
    X, Y = (seen[:, 0] - bounds[0]) / px, (bounds[3] - seen[:, 1]) / px
    given = (seen[:, 2], verts, scene.uv, faces, of_sheet, *scene.paint, np.asarray(clip, float))
    _fill(X, Y, *given, np.ones((h, w), np.bool_), label, depth, face)
    hit = face >= 0
    normal, sheet, sharp = np.zeros((h, w, 3), np.float32), np.full((h, w), -1, np.int32), np.zeros((h, w), np.bool_)
    normals, groups = _turned(scene.normals[kept[scene.of_face]], axes[2]), _groups(body.sheets)
    normal[hit] = normals[face[hit]]
    sheet[hit] = groups[of_sheet[face[hit]]]
    sharp[hit] = np.array([s.sharp for s in body.sheets])[of_sheet[face[hit]]]
    halfway = np.full((h + 1, w), 0.5, np.float32), np.full((h, w + 1), 0.5, np.float32)
    picture = Picture(label, depth, normal, sheet, sharp, px, bounds, axes, *halfway)
    if between:

        def look(right: float, down: float, wanted: NDArray[np.bool_]) -> Seen:
            """What lies beyond the wanted pixels' middles by a share of a pixel."""
            some, deep, faced = np.zeros((h, w), np.int32), np.full((h, w), FAR, np.float32), np.full((h, w), -1, np.int32)
            _fill(X - right, Y - down, *given, wanted, some, deep, faced)
            f = faced[wanted]
            return some[wanted], np.where(f < 0, -1, groups[of_sheet[f]]), deep[wanted], normals[f]

        find_borders(picture, look, between)
    return picture


@dataclass(frozen=True)
class _Scene:
    """All sheets of a body as the rasteriser wants them; of_face: the sheet that each face belongs to; normals: of the faces."""

    verts: Floats
    uv: Floats
    faces: NDArray[np.int64]
    of_face: NDArray[np.int64]
    normals: Floats
    paint: tuple[Any, ...]


@lru_cache(maxsize=1)
def _scene(body: Body) -> _Scene:
    sheets = body.sheets
    offsets = np.cumsum([0] + [len(s.verts) for s in sheets])
    verts, faces = np.vstack([s.verts for s in sheets]), np.vstack([s.faces + o for s, o in zip(sheets, offsets, strict=False)])
    return _Scene(
        verts,
        np.vstack([s.uv for s in sheets]),
        faces,
        np.repeat(np.arange(len(sheets)), [len(s.faces) for s in sheets]),
        _normals(verts, faces),
        _textures(sheets),
    )


def _textures(sheets: Sequence[Sheet]) -> tuple[Any, ...]:
    start = np.cumsum([0] + [s.paint.size for s in sheets])
    areas = [area for s in sheets for area in s.areas]
    lines = [_edges(polygon) for _, polygon in areas]
    return (
        np.concatenate([s.paint.ravel() for s in sheets]),
        start,
        np.array([s.paint.shape for s in sheets]),
        np.array([s.origin for s in sheets], float),
        np.array([s.per_mm for s in sheets], float),
        np.cumsum([0] + [len(s.areas) for s in sheets]),
        np.array([number for number, _ in areas] or [0], np.int64),
        np.array([polygon.bounds for _, polygon in areas] or [(0, 0, 0, 0)], float),
        np.cumsum([0] + [len(q) for q in lines]),
        np.concatenate(lines or [np.zeros((1, 4))]),
    )


def _edges(polygon: Shape) -> Floats:
    """The straight pieces of a polygon's rings, (n, 4)."""
    rings = [np.asarray(ring.coords)[:, :2] for ring in (polygon.exterior, *polygon.interiors)]
    return np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in rings])


def _normals(verts: Floats, faces: NDArray[np.int64]) -> Floats:
    n = np.cross(verts[faces[:, 1]] - verts[faces[:, 0]], verts[faces[:, 2]] - verts[faces[:, 0]])
    n /= np.sqrt((n * n).sum(1, keepdims=True)) + 1e-9
    return n


def _turned(n: Floats, towards: Floats) -> NDArray[np.float32]:
    """Normals turned to the viewer."""
    facing = n[:, 0] * towards[0] + n[:, 1] * towards[1] + n[:, 2] * towards[2]
    return (n * np.where(facing < 0, -1, 1)[:, None]).astype(np.float32)


def _groups(sheets: Sequence[Sheet]) -> NDArray[np.int32]:
    first: dict[str, int] = {}
    return np.array([first.setdefault(s.part, i) if s.blend else i for i, s in enumerate(sheets)], np.int32)


@njit(cache=True)
def _painted(u, v, of, number, box, first, line):  # type: ignore[no-untyped-def]
    """The label at (u, v) by the polygons themselves, the last stroke first: crossings of a ray with their sides."""
    for a in range(of[1] - 1, of[0] - 1, -1):
        if u < box[a, 0] or u > box[a, 2] or v < box[a, 1] or v > box[a, 3]:
            continue
        inside = False
        for k in range(first[a], first[a + 1]):
            x0, y0, x1, y1 = line[k]
            if (y0 > v) != (y1 > v) and u < x0 + (v - y0) * (x1 - x0) / (y1 - y0):
                inside = not inside
        if inside:
            return number[a]
    return 0


@njit(cache=True)
def _fill(  # type: ignore[no-untyped-def]
    X, Y, D, P, UV, F, S, tex, start, dims, origin, per, of, number, box, first, line, clip, wanted, label, depth, face
):
    h, w = label.shape
    ahead = np.full((h, w + 1), w, np.int32)  # the next wanted column of a row from a column on
    for i in range(h):
        for j in range(w - 1, -1, -1):
            ahead[i, j] = j if wanted[i, j] else ahead[i, j + 1]
    for f in range(len(F)):
        a, b, c = F[f]
        det = (X[b] - X[a]) * (Y[c] - Y[a]) - (X[c] - X[a]) * (Y[b] - Y[a])
        if abs(det) < 1e-7:
            continue
        s = S[f]
        i0, i1 = max(0, int(np.floor(min(Y[a], Y[b], Y[c]) - 0.5))), min(h - 1, int(np.ceil(max(Y[a], Y[b], Y[c]))))
        j0, j1 = max(0, int(np.floor(min(X[a], X[b], X[c]) - 0.5))), min(w - 1, int(np.ceil(max(X[a], X[b], X[c]))))
        if j1 < j0:
            continue
        for i in range(i0, i1 + 1):
            y, after = i + 0.5, ahead[i, j0]
            while after <= j1:
                j, after = after, ahead[i, after + 1]
                x = j + 0.5
                l1 = ((x - X[a]) * (Y[c] - Y[a]) - (X[c] - X[a]) * (y - Y[a])) / det
                l2 = ((X[b] - X[a]) * (y - Y[a]) - (x - X[a]) * (Y[b] - Y[a])) / det
                l0 = 1 - l1 - l2
                if l0 < -1e-6 or l1 < -1e-6 or l2 < -1e-6:
                    continue
                d = np.float32(D[a] * l0 + D[b] * l1 + D[c] * l2)
                if d <= depth[i, j] + np.float32(0.01):
                    continue
                u = UV[a, 0] * l0 + UV[b, 0] * l1 + UV[c, 0] * l2
                v = UV[a, 1] * l0 + UV[b, 1] * l1 + UV[c, 1] * l2
                ti = min(max(int((v - origin[s, 1]) * per[s] + 0.5), 0), dims[s, 0] - 1)
                tj = min(max(int((u - origin[s, 0]) * per[s] + 0.5), 0), dims[s, 1] - 1)
                t = tex[start[s] + ti * dims[s, 1] + tj]
                if per[s] > 0:
                    near = False
                    for i2 in range(max(ti - 1, 0), min(ti + 2, dims[s, 0])):
                        for j2 in range(max(tj - 1, 0), min(tj + 2, dims[s, 1])):
                            near = near or tex[start[s] + i2 * dims[s, 1] + j2] != t
                    if near:
                        t = _painted(u, v, of[s : s + 2], number, box, first, line)
                if t == 0:
                    continue
                inside = True
                for k in range(3):
                    q = P[a, k] * l0 + P[b, k] * l1 + P[c, k] * l2
                    if q < clip[2 * k] or q > clip[2 * k + 1]:
                        inside = False
                if inside:
                    label[i, j], depth[i, j], face[i, j] = t, d, f
