"""A body's sheets cut fine enough to carry what lies on them: places in space, labels, and how much of each sign.

A solid model is coarse grids of points whose labels stand in textures (drawings/engine/solid.py). Here each grid is refined to
cells of at most `CELL` mm, so that weights of signs can be carried by its points; the label textures stay as they are. Every
point keeps (sheet, u, v): a picture that shows those three shows exactly which label, hence which zone, each pixel is.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "drawings"))
from engine.solid import Body, Sheet

Floats = NDArray[np.float64]
CELL = 25.0
BODIES = ("coupe", "open-tub", "pickup", "roadster", "van")


@dataclass(frozen=True)
class Fine:
    """One sheet, refined. number : in the body. places (n, 3), uv (n, 2) mm; quads (m, 4); labels (n,) at the points."""

    number: int
    sheet: Sheet
    places: Floats
    uv: Floats
    quads: NDArray[np.int64]
    labels: NDArray[np.int64]


def body_of(name: str) -> Body:
    """The solid model of a body plan; ValueError names the bodies there are."""
    if name not in BODIES:
        raise ValueError(f"{name}: no such body; there are {', '.join(BODIES)}")
    body: Body = importlib.import_module(f"bodies.{name.replace('-', '_')}").build()
    return body


def label_at(sheet: Sheet, uv: Floats) -> NDArray[np.int64]:
    """Label numbers at (n, 2) points of the sheet, 0 where nothing is; the same rule as the drawings follow."""
    at = ((uv - np.asarray(sheet.origin)) * sheet.per_mm + 0.5).astype(int)
    high, wide = sheet.paint.shape
    return sheet.paint[np.clip(at[:, 1], 0, high - 1), np.clip(at[:, 0], 0, wide - 1)].astype(np.int64)


def _grid(sheet: Sheet) -> tuple[Floats, Floats]:
    """The grid of points (nu, nv, 3) and of parameters (nu, nv, 2) that the sheet was made of."""
    u = np.unique(sheet.uv[:, 0])
    wide = len(sheet.uv) // len(u)
    return sheet.verts.reshape(len(u), wide, 3), sheet.uv.reshape(len(u), wide, 2)


def _refined(points: Floats, uv: Floats, axis: int) -> tuple[Floats, Floats]:
    """Lines put in between along one axis, as many between two lines as the longest step between them asks for."""
    step = np.diff(points, axis=axis)
    length = np.sqrt((step**2).sum(-1)).max(1 - axis)
    many = np.clip(np.ceil(length / CELL), 1, 200).astype(int)
    at = np.concatenate([k + np.arange(n) / n for k, n in enumerate(many)] + [[len(many)]])
    low = np.minimum(at.astype(int), len(many) - 1)
    part = (at - low).reshape((-1, 1, 1) if axis == 0 else (1, -1, 1))
    mixed = [np.take(a, low, axis) * (1 - part) + np.take(a, low + 1, axis) * part for a in (points, uv)]
    return mixed[0], mixed[1]


def fine(body: Body, without: Sequence[str] = (), only: Sequence[str] = ()) -> list[Fine]:
    """All sheets refined. without, only : beginnings of part names to leave out, or to keep."""
    found = []
    for number, sheet in enumerate(body.sheets):
        if sheet.part.startswith(tuple(without)) or (only and not sheet.part.startswith(tuple(only))):
            continue
        points, uv = _grid(sheet)
        for axis in (0, 1):
            points, uv = _refined(points, uv, axis)
        i = np.arange(points.shape[0] * points.shape[1]).reshape(points.shape[:2])
        quads = np.stack([i[:-1, :-1], i[1:, :-1], i[1:, 1:], i[:-1, 1:]], -1).reshape(-1, 4)
        flat = uv.reshape(-1, 2)
        found.append(Fine(number, sheet, points.reshape(-1, 3), flat, quads, label_at(sheet, flat)))
    return found


def zone_points(body: Body, sheets: Sequence[Fine], zone: str) -> tuple[Floats, Floats]:
    """Places (n, 3) of the refined points that lie in a zone or on a part, with unit normals (n, 3) of unknown sign.

    Raises ValueError where no sheet has the zone and no part has this name.
    """
    numbers = [n for n, label in enumerate(body.labels) if label and label.zone == zone]
    if zone in {one.sheet.part for one in sheets}:
        numbers, sheets = list(range(1, len(body.labels))), [one for one in sheets if one.sheet.part == zone]
    places, normals = [np.zeros((0, 3))], [np.zeros((0, 3))]
    for one in sheets:
        mask = np.isin(one.labels, numbers)
        if mask.any():
            corner = one.places[one.quads]
            across = np.cross(corner[:, 2] - corner[:, 0], corner[:, 3] - corner[:, 1])
            total = np.zeros_like(one.places)
            for k in range(4):
                np.add.at(total, one.quads[:, k], across)
            places.append(one.places[mask])
            normals.append(total[mask] / (np.linalg.norm(total[mask], axis=1, keepdims=True) + 1e-9))
    if sum(map(len, places)) == 0:
        raise ValueError(f"{zone}: no sheet of this body shows it")
    return np.vstack(places), np.vstack(normals)
