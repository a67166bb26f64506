"""A body seen square-on: label, depth, normal and sheet for every pixel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from engine.shapes import Floats
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
    plane. axes : right, up, towards, (3, 3).
    """

    label: NDArray[np.int32]
    depth: NDArray[np.float32]
    normal: NDArray[np.float32]
    sheet: NDArray[np.int32]
    sharp: NDArray[np.bool_]
    px: float
    bounds: tuple[float, float, float, float]
    axes: Floats


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
) -> Picture:
    """Orthographic view along `axes` at `px` mm per pixel.

    without, only : beginnings of part names to leave out, or to keep. clip : space kept, x0, x1, y0, y1, z0, z1.
    bounds : left, bottom, right, top of the picture plane in mm; by default all that is drawn, with `pad` mm round it.
    """
    sheets = (
        [s for s in body.sheets if not s.part.startswith(tuple(without)) and (not only or s.part.startswith(tuple(only)))]
        if without
        else [s for s in body.sheets if not only or s.part.startswith(tuple(only))]
    )
    offsets = np.cumsum([0] + [len(s.verts) for s in sheets])
    verts = np.vstack([s.verts for s in sheets])
    faces = np.vstack([s.faces + o for s, o in zip(sheets, offsets, strict=False)])
    of_sheet = np.repeat(np.arange(len(sheets)), [len(s.faces) for s in sheets])
    seen = verts[:, None, 0] * axes[:, 0] + verts[:, None, 1] * axes[:, 1] + verts[:, None, 2] * axes[:, 2]
    if bounds is None:
        (x0, y0), (x1, y1) = seen[:, :2].min(0) - pad, seen[:, :2].max(0) + pad
        bounds = (float(np.floor(x0)), float(np.floor(y0)), float(np.ceil(x1)), float(np.ceil(y1)))
    w, h = round((bounds[2] - bounds[0]) / px), round((bounds[3] - bounds[1]) / px)
    label, depth = np.zeros((h, w), np.int32), np.full((h, w), FAR, np.float32)
    face = np.full((h, w), -1, np.int32)
    _fill(
        (seen[:, 0] - bounds[0]) / px,
        (bounds[3] - seen[:, 1]) / px,
        seen[:, 2],
        verts,
        np.vstack([s.uv for s in sheets]),
        faces,
        of_sheet,
        *_textures(sheets),
        np.asarray(clip, float),
        label,
        depth,
        face,
    )
    hit = face >= 0
    normal, sheet, sharp = np.zeros((h, w, 3), np.float32), np.full((h, w), -1, np.int32), np.zeros((h, w), np.bool_)
    normal[hit] = _normals(verts, faces, axes[2])[face[hit]]
    sheet[hit] = _groups(sheets)[of_sheet[face[hit]]]
    sharp[hit] = np.array([s.sharp for s in sheets])[of_sheet[face[hit]]]
    return Picture(label, depth, normal, sheet, sharp, px, bounds, axes)


def _textures(sheets: Sequence[Sheet]) -> tuple[Any, ...]:
    start = np.cumsum([0] + [s.paint.size for s in sheets])
    return (
        np.concatenate([s.paint.ravel() for s in sheets]),
        start,
        np.array([s.paint.shape for s in sheets]),
        np.array([s.origin for s in sheets], float),
        np.array([s.per_mm for s in sheets], float),
    )


def _normals(verts: Floats, faces: NDArray[np.int64], towards: Floats) -> NDArray[np.float32]:
    n = np.cross(verts[faces[:, 1]] - verts[faces[:, 0]], verts[faces[:, 2]] - verts[faces[:, 0]])
    n /= np.sqrt((n * n).sum(1, keepdims=True)) + 1e-9
    facing = n[:, 0] * towards[0] + n[:, 1] * towards[1] + n[:, 2] * towards[2]
    return (n * np.where(facing < 0, -1, 1)[:, None]).astype(np.float32)


def _groups(sheets: Sequence[Sheet]) -> NDArray[np.int32]:
    first: dict[str, int] = {}
    return np.array([first.setdefault(s.part, i) if s.blend else i for i, s in enumerate(sheets)], np.int32)


@njit(cache=True)
def _fill(X, Y, D, P, UV, F, S, tex, start, dims, origin, per, clip, label, depth, face):  # type: ignore[no-untyped-def]
    h, w = label.shape
    for f in range(len(F)):
        a, b, c = F[f]
        det = (X[b] - X[a]) * (Y[c] - Y[a]) - (X[c] - X[a]) * (Y[b] - Y[a])
        if abs(det) < 1e-7:
            continue
        s = S[f]
        i0, i1 = max(0, int(np.floor(min(Y[a], Y[b], Y[c]) - 0.5))), min(h - 1, int(np.ceil(max(Y[a], Y[b], Y[c]))))
        j0, j1 = max(0, int(np.floor(min(X[a], X[b], X[c]) - 0.5))), min(w - 1, int(np.ceil(max(X[a], X[b], X[c]))))
        for i in range(i0, i1 + 1):
            y = i + 0.5
            for j in range(j0, j1 + 1):
                x = j + 0.5
                l1 = ((x - X[a]) * (Y[c] - Y[a]) - (X[c] - X[a]) * (y - Y[a])) / det
                l2 = ((X[b] - X[a]) * (y - Y[a]) - (x - X[a]) * (Y[b] - Y[a])) / det
                l0 = 1 - l1 - l2
                if l0 < -1e-6 or l1 < -1e-6 or l2 < -1e-6:
                    continue
                d = np.float32(D[a] * l0 + D[b] * l1 + D[c] * l2)
                if d <= depth[i, j] + np.float32(0.01):
                    continue
                u = (UV[a, 0] * l0 + UV[b, 0] * l1 + UV[c, 0] * l2 - origin[s, 0]) * per[s]
                v = (UV[a, 1] * l0 + UV[b, 1] * l1 + UV[c, 1] * l2 - origin[s, 1]) * per[s]
                ti, tj = min(max(int(v + 0.5), 0), dims[s, 0] - 1), min(max(int(u + 0.5), 0), dims[s, 1] - 1)
                t = tex[start[s] + ti * dims[s, 1] + tj]
                if t == 0:
                    continue
                inside = True
                for k in range(3):
                    q = P[a, k] * l0 + P[b, k] * l1 + P[c, k] * l2
                    if q < clip[2 * k] or q > clip[2 * k + 1]:
                        inside = False
                if inside:
                    label[i, j], depth[i, j], face[i, j] = t, d, f
