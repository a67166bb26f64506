"""Where a solid model's zones lie in a picture, worked out anew: points of its sheets through a pinhole, cell by cell.

The renders' masks come from rays that Blender follows through its own meshes; here the sheets' grids are read as they are,
places between grid lines by linear interpolation, and each small cell of a zone's paint is drawn where its corners fall.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from scipy.interpolate import RegularGridInterpolator

Floats = npt.NDArray[np.float64]
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "drawings"))


def body_of(name: str) -> Any:
    return importlib.import_module(f"bodies.{name.replace('-', '_')}").build()


def seen(places: Floats, camera: dict[str, Any]) -> Floats:
    """Places (n, 3) in mm, x rearwards, y left, z up, as pixels (n, 2) and depth (n,) of a pinhole with upright sides."""
    way = np.subtract(camera["aim"], camera["at"]).astype(float)
    way /= np.sqrt(way @ way)
    right = np.array([-way[1], way[0], 0.0]) / np.hypot(way[0], way[1])  # looking to the nose (-x) the right hand is at -y
    up = np.array([0.0, 0.0, 1.0]) - way * way[2]
    up /= np.sqrt(up @ up)
    from_eye = places - np.asarray(camera["at"], float)
    x, y, depth = from_eye @ right, from_eye @ up, from_eye @ way
    wide, high = camera["size"]
    focal = camera["lens"] / 43.27 * np.hypot(wide, high)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.stack([(wide - 1) / 2 + focal * x / depth, (high - 1) / 2 - focal * y / depth, depth], 1)


def silhouette(body: Any, zone: str, camera: dict[str, Any], cell: float = 6.0) -> npt.NDArray[np.bool_]:
    """Every pixel behind which some metal of the zone lies, whatever stands before it."""
    wide, high = camera["size"]
    found = np.zeros((high, wide), np.uint8)
    numbers = [n for n, label in enumerate(body.labels) if label and label.zone == zone]
    for sheet in body.sheets:
        if not np.isin(sheet.paint, numbers).any() or sheet.part.startswith(tuple(camera["off"]) or ("\0",)):
            continue
        u = np.unique(sheet.uv[:, 0])
        v = sheet.uv.reshape(len(u), -1, 2)[0, :, 1]
        places = RegularGridInterpolator((u, v), sheet.verts.reshape(len(u), len(v), 3))
        lines = [_lines(places, axis, (u, v), cell) for axis in (0, 1)]
        grid = np.stack(np.meshgrid(*lines, indexing="ij"), -1)
        middle = (grid[:-1, :-1] + grid[1:, 1:]) / 2
        at = ((middle - sheet.origin) * sheet.per_mm + 0.5).astype(int)
        rows, columns = sheet.paint.shape
        labels = sheet.paint[np.clip(at[..., 1], 0, rows - 1), np.clip(at[..., 0], 0, columns - 1)]
        corners = seen(places(grid.reshape(-1, 2)), camera).reshape(*grid.shape[:2], 3)
        for i, j in zip(*np.nonzero(np.isin(labels, numbers)), strict=True):
            square = corners[[i, i + 1, i + 1, i], [j, j, j + 1, j + 1]]
            if (square[:, 2] > 20).all() and (np.abs(square[:, :2]) < 4000).all():
                cv2.fillConvexPoly(found, np.round(square[:, :2] * 16).astype(np.int32), 1, shift=4)
    return found.astype(bool)


def _lines(places: RegularGridInterpolator, axis: int, ends: tuple[Floats, Floats], cell: float) -> Floats:
    """Grid lines along one axis of a sheet, about `cell` mm apart in space."""
    own, other = ends[axis], ends[1 - axis]
    middle = np.full(len(own), other[len(other) // 2])
    path = places(np.stack([own, middle] if axis == 0 else [middle, own], 1))
    steps = np.sqrt((np.diff(path, axis=0) ** 2).sum(1))
    many = np.clip(np.ceil(steps / cell), 1, 400).astype(int)
    return np.concatenate(
        [np.linspace(a, b, n, endpoint=False) for a, b, n in zip(own, own[1:], many, strict=False)] + [own[-1:]]
    )
