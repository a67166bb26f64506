"""A body as painted sheets.

A Sheet is a coarse grid of points in space whose grid parameters (u, v) are plain millimetres, plus a paint: polygons
drawn in (u, v), later ones over earlier ones. What is not painted is not there, so windows and wheel arches are cut
out of the paint with true curves whatever the grid looks like. A Label says what a painted area is: the panel it
belongs to (borders between panels are shut lines; "panel/x" is a pressing in the panel), the zone (None: context) and
the kind (which fill it gets). x runs rearwards from the front axle, y to the vehicle's left, z up from the ground.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.ops import unary_union

from engine.shapes import Floats, Shape, steps

cv2.setNumThreads(1)


@dataclass(frozen=True)
class Label:
    """What a painted area is. kind: body, soft, part, tyre, well, glass, seal, trim, bright."""

    panel: str
    zone: str | None = None
    kind: str = "body"


Paint = Label | Sequence[tuple[Label | None, Shape]]
Surface = Callable[[Any, Any], tuple[Any, Any, Any]]


@dataclass
class Sheet:
    """verts (n, 3) mm; uv (n, 2) mm; faces (m, 3); paint: label number per texel, 0 = nothing there.

    areas : label number and polygon of every stroke of the paint, in order; none where one label covers the sheet.
    part : the layer that views leave out or keep. origin, per_mm : (u, v) of texel (0, 0), texels per mm.
    sharp : creases between its own faces are drawn. blend : no crease against other blending sheets of the same part.
    """

    part: str
    verts: Floats
    uv: Floats
    faces: NDArray[np.int64]
    paint: NDArray[np.int16]
    areas: tuple[tuple[int, Shape], ...]
    origin: tuple[float, float]
    per_mm: float
    sharp: bool
    blend: bool


class Body:
    """The sheets of one vehicle and the labels they are painted with."""

    def __init__(self) -> None:
        self.sheets: list[Sheet] = []
        self.labels: list[Label | None] = [None]
        self._number: dict[Label, int] = {}

    def label(self, label: Label) -> int:
        """The number of a label, given out in the order of first use."""
        if label not in self._number:
            self._number[label] = len(self.labels)
            self.labels.append(label)
        return self._number[label]

    def sheet(
        self,
        part: str,
        f: Surface,
        u: Any,
        v: Any,
        paint: Paint,
        *,
        per_mm: float = 1.0,
        sharp: bool = False,
        blend: bool = False,
    ) -> None:
        """f(U, V) -> x, y, z; u, v are the grid lines; paint is one Label or [(Label, polygon in u, v)]."""
        u, v = np.asarray(u, float), np.asarray(v, float)
        U, V = np.meshgrid(u, v, indexing="ij")
        verts = np.stack(np.broadcast_arrays(*f(U, V)), -1).astype(float).reshape(-1, 3)
        i = np.arange(U.size).reshape(U.shape)
        a, b, c, d = i[:-1, :-1].ravel(), i[1:, :-1].ravel(), i[1:, 1:].ravel(), i[:-1, 1:].ravel()
        faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
        if isinstance(paint, Label):
            texels, areas, origin, per_mm = np.full((1, 1), self.label(paint), np.int16), (), (0.0, 0.0), 0.0
        else:
            origin = (float(u.min()), float(v.min()))
            areas = tuple(
                (0 if label is None else self.label(label), polygon)
                for label, polygons in paint
                for polygon in getattr(polygons, "geoms", [polygons])
                if not polygon.is_empty and polygon.geom_type == "Polygon"
            )
            texels = _painted(areas, origin, (float(np.ptp(u)), float(np.ptp(v))), per_mm)
        uv = np.stack([U, V], -1).reshape(-1, 2)
        self.sheets.append(Sheet(part, verts, uv, faces, texels, areas, origin, per_mm, sharp, blend))

    def plate(
        self,
        part: str,
        plane: str,
        at: float | Callable[[Any, Any], Any],
        paint: Sequence[tuple[Label | None, Shape]],
        *,
        per_mm: float = 1.0,
        step: float = 90,
        sharp: bool = False,
        blend: bool = False,
    ) -> None:
        """A painted sheet over a plane 'xy' | 'xz' | 'yz'; `at`, the third coordinate, a number or a function of (u, v)."""
        low_u, low_v, high_u, high_v = unary_union([polygons for _, polygons in paint]).bounds
        f = at if callable(at) else (lambda U, V: at + 0 * U)
        put: Surface = {
            "xy": lambda U, V: (U, V, f(U, V)),
            "xz": lambda U, V: (U, f(U, V), V),
            "yz": lambda U, V: (f(U, V), U, V),
        }[plane]
        self.sheet(
            part, put, steps(low_u, high_u, step), steps(low_v, high_v, step), paint, per_mm=per_mm, sharp=sharp, blend=blend
        )

    def prism(
        self, part: str, plane: str, polygon: Shape, low: float, high: float, label: Label, side: Label | None = None
    ) -> None:
        """A polygon drawn in a plane, given thickness from low to high across it."""
        low, high = min(low, high), max(low, high)
        for at in (low, high):
            self.plate(part, plane, at, [(label, polygon)])
        for ring in (polygon.exterior, *polygon.interiors):
            q = np.asarray(ring.segmentize(60).coords)
            put: Surface = {
                "xy": lambda U, V, q=q: (q[U.astype(int), 0], q[U.astype(int), 1], V),
                "xz": lambda U, V, q=q: (q[U.astype(int), 0], V, q[U.astype(int), 1]),
                "yz": lambda U, V, q=q: (V, q[U.astype(int), 0], q[U.astype(int), 1]),
            }[plane]
            self.sheet(part, put, np.arange(len(q), dtype=float), steps(low, high, 90), side or label)

    def sweep(
        self, part: str, path: Any, section: Any, paint: Paint, *, sharp: bool = False, caps: bool = True, upright: bool = True
    ) -> None:
        """A closed section (lateral, vertical) carried along a path; u = path number, v = section number.

        upright : the section stays vertical (rails, bumpers); else it turns with the path (pipes, arms).
        """
        p, q = np.asarray(path, float), np.asarray(section, float)
        q = np.vstack([q, q[:1]])
        t = np.gradient(p, axis=0)
        t /= np.sqrt((t * t).sum(1, keepdims=True)) + 1e-9
        flat = np.stack([-t[:, 1], t[:, 0], 0 * t[:, 0]], 1)
        size = np.sqrt((flat * flat).sum(1, keepdims=True))
        side = np.where(size > 1e-6, flat / (size + 1e-12), np.array([[0.0, 1.0, 0.0]]))
        up = np.tile([0.0, 0.0, 1.0], (len(p), 1)) if upright else np.cross(t, side)
        rings = p[:, None] + side[:, None] * q[None, :, :1] + up[:, None] * q[None, :, 1:]

        def f(U: Any, V: Any) -> tuple[Any, Any, Any]:
            ring = rings[U.astype(int), V.astype(int)]
            return ring[..., 0], ring[..., 1], ring[..., 2]

        self.sheet(part, f, np.arange(len(p)), np.arange(len(q)), paint, per_mm=8, sharp=sharp)
        if caps and isinstance(paint, Label):
            for end in (0, -1):
                self._lid(part, rings[end], paint)

    def _lid(self, part: str, ring: Floats, label: Label) -> None:
        middle = ring.mean(0)

        def f(U: Any, V: Any) -> tuple[Any, Any, Any]:
            at = middle + (ring[U.astype(int)] - middle) * V[..., None]
            return at[..., 0], at[..., 1], at[..., 2]

        self.sheet(part, f, np.arange(len(ring)), [0, 1], label)

    def turn(
        self,
        part: str,
        centre: tuple[float, float, float],
        profile: Any,
        paint: Label | Sequence[Label],
        *,
        n: int = 72,
        axis: str = "y",
    ) -> None:
        """A profile (along the axis, radius) turned about an axis through `centre`; one label, or one per span."""
        c, q, a = centre, np.asarray(profile, float), np.linspace(0, 2 * np.pi, n + 1)
        for k in range(len(q) - 1):

            def f(U: Any, V: Any, k: int = k) -> tuple[Any, Any, Any]:
                r, h = q[k, 1] + (q[k + 1, 1] - q[k, 1]) * V, q[k, 0] + (q[k + 1, 0] - q[k, 0]) * V
                A, B = r * np.cos(a[U.astype(int)]), r * np.sin(a[U.astype(int)])
                return {
                    "y": (c[0] + A, c[1] + h, c[2] + B),
                    "z": (c[0] + A, c[1] + B, c[2] + h),
                    "x": (c[0] + h, c[1] + A, c[2] + B),
                }[axis]

            self.sheet(part, f, np.arange(n + 1), [0, 1], paint if isinstance(paint, Label) else paint[k])


def _painted(
    areas: Sequence[tuple[int, Shape]], origin: tuple[float, float], size: tuple[float, float], per_mm: float
) -> NDArray[np.int16]:
    texels = np.zeros((int(size[1] * per_mm) + 2, int(size[0] * per_mm) + 2), np.int16)
    for number, polygon in areas:
        rings = [
            np.round((np.asarray(ring.coords) - origin) * per_mm * 16).astype(np.int32)
            for ring in (polygon.exterior, *polygon.interiors)
        ]
        cv2.fillPoly(texels, rings, int(number), shift=4)
    return texels
