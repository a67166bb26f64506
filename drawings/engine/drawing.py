"""A picture as a drawing: fitted arcs, zone outlines, ink without double lines, tap areas."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import find_objects

from engine.fit import Pieces, smooth
from engine.plain import Plain, plainly
from engine.planar import BORDER, CREASE, SHUT, Arc, arcs_of, clean, outlines_of, settled
from engine.raster import Picture
from engine.shapes import Floats
from engine.solid import Body

KINDS = ("well", "tyre", "part", "soft", "body", "glass")
PHONE = 360
FINGER = 24


class Drawing:
    """The drawing of one picture. Coordinates of paths are whole units, `unit` mm each, from the picture's top left."""

    def __init__(
        self,
        body: Body,
        picture: Picture,
        *,
        unit: float = 1.0,
        tol: float = 0.5,
        least: float = 1.5,
        plain: Sequence[Plain] = (),
        bold: tuple[float, str] | None = None,
    ) -> None:
        """least: px at 360 px width that a zone must be thick to be offered here; else it is context.

        bold : for a picture shown small: what is thinner than so many of its pixels goes, but for the zone named.
        """
        plainer = plainly(picture, body, plain)
        if bold:
            thin = bold[0] * picture.px
            kept = [n for n, label in enumerate(body.labels) if label is not None and label.zone == bold[1]]
            self.picture = clean(plainer, 3 * thin * thin, thin, kept)
        else:
            self.picture = clean(plainer)
        self.px, self.unit = picture.px, unit
        self.label = self.picture.label
        self.h, self.w = self.label.shape
        self.size = (round(self.w * self.px / unit), round(self.h * self.px / unit))
        self.zone_of = [None if label is None else label.zone for label in body.labels]
        self.kind_of = ["" if label is None else label.kind for label in body.labels]
        self._panel = ["" if label is None else label.panel for label in body.labels]
        shown = self._shown()
        number = {zone: n for n, zone in enumerate(shown, 1)}
        masks = np.array([number.get(z or "", 0) for z in self.zone_of], np.int32)[self.label]
        for zone, at in zip(shown, find_objects(masks), strict=True):
            if self._thick((masks[at] == number[zone]).astype(np.uint8)) * PHONE / self.w < least:
                self.zone_of = [None if z == zone else z for z in self.zone_of]
        self.zones = self._shown()
        self.arcs = arcs_of(self.picture)
        for arc in self.arcs:
            arc.ink = self._class(arc)
        self._tol = 0.0, 0.0
        self.fit(tol, tol / 2)

    def fit(self, tol: float, short: float) -> None:
        """Follows the arcs within `tol` pixels, the short ones, which make small rounds, within `short`."""
        if self._tol == (tol, short):
            return
        self._tol, moved = (tol, short), settled(self.arcs)
        for arc in self.arcs:
            first, last = _key(arc.points[0]), _key(arc.points[-1])
            ends = moved.get(first, arc.points[0]), moved.get(last, arc.points[-1])
            arc.pieces = smooth(arc.points, arc.middles, self._close(len(arc.points)), ends)

    def _shown(self) -> list[str]:
        return sorted({self.zone_of[n] for n in np.flatnonzero(np.bincount(self.label.ravel())).tolist()} - {None})  # type: ignore[type-var]

    @staticmethod
    def _thick(mask: NDArray[np.uint8]) -> float:
        """Diameter of the widest circle inside, pixels."""
        return 2 * float(cv2.distanceTransform(np.pad(mask, 1), cv2.DIST_L2, 5).max())

    def _close(self, points: int) -> float:
        """How closely a line of so many points is followed, pixels."""
        return self._tol[points < 200]

    def _class(self, arc: Arc) -> int:
        if arc.ink != SHUT:
            return arc.ink
        one, other = self._panel[arc.left], self._panel[arc.right]
        if one == other:
            return BORDER if self.kind_of[arc.left] == self.kind_of[arc.right] else CREASE
        return CREASE if one.partition("/")[0] == other.partition("/")[0] else SHUT

    # -- paths -----------------------------------------------------------------------------------
    def path(self, pieces: Pieces, start: bool = True, scale: float | None = None) -> str:
        """Pieces (pixels) as path data: relative commands in whole units."""
        k = self.px / self.unit if scale is None else scale
        at = np.round(pieces[0][0] * k)
        out = [f"M{_pair(at)}"] if start else []
        for piece in pieces:
            offsets = [np.round(q * k) - at for q in piece[1:]]
            end = np.round(piece[-1] * k)
            if len(piece) == 4:
                out.append("c" + " ".join(_pair(q) for q in offsets).replace(" -", "-"))
            elif offsets[0][1] == 0:
                out.append(f"h{offsets[0][0]:.0f}" if offsets[0][0] else "")
            else:
                out.append(f"v{offsets[0][1]:.0f}" if offsets[0][0] == 0 else "l" + _pair(offsets[0]).replace(" -", "-"))
            at = end
        return "".join(out)

    def outline(self, inside: Callable[[int], bool], arcs: Sequence[Arc] | None = None, scale: float | None = None) -> str:
        """Closed paths round all labels for which inside(label) holds; fill them even-odd."""
        arcs = self.arcs if arcs is None else arcs
        at_point: dict[tuple[int, int], list[tuple[int, bool]]] = {}
        for i, arc in enumerate(arcs):
            if inside(arc.left) != inside(arc.right):
                at_point.setdefault(_key(arc.points[0]), []).append((i, False))
                at_point.setdefault(_key(arc.points[-1]), []).append((i, True))
        done: set[int] = set()
        out: list[str] = []
        for start, begin in at_point.items():
            for first, backwards in begin:
                if first not in done:
                    out.append(self._ring(arcs, at_point, done, start, (first, backwards), scale) + "z")
        return "".join(out)

    def _ring(
        self,
        arcs: Sequence[Arc],
        at_point: dict[tuple[int, int], list[tuple[int, bool]]],
        done: set[int],
        start: tuple[int, int],
        step: tuple[int, bool] | None,
        scale: float | None,
    ) -> str:
        out: list[str] = []
        while step:
            i, backwards = step
            done.add(i)
            arc = arcs[i]
            pieces = [p[::-1] for p in arc.pieces[::-1]] if backwards else arc.pieces
            out.append(self.path(pieces, not out, scale))
            end = _key(arc.points[0] if backwards else arc.points[-1])
            step = None if end == start else next(((j, r) for j, r in at_point[end] if j not in done), None)
        return "".join(out)

    def zone_path(self, zone: str) -> str:
        """The outline of a zone."""
        return self.outline(lambda n: self.zone_of[n] == zone)

    def kind_path(self, kind: str) -> str:
        """The outline of all context of a kind."""
        return self.outline(lambda n: n > 0 and not self.zone_of[n] and self.kind_of[n] == kind)

    # -- ink -------------------------------------------------------------------------------------
    def ink(self, classes: Sequence[int] = (1, 2, 3, 4, 5), beside: float = 7) -> dict[int, str]:
        """Path data per ink class, heaviest first. What runs within `beside` mm of heavier ink is left out."""
        near = np.zeros((self.h + 1, self.w + 1), np.uint8)
        radius = max(2, round(beside / self.px))
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius + 1, 2 * radius + 1))
        out: dict[int, str] = {}
        for ink in classes:
            drawn = np.zeros_like(near)
            data: list[str] = []
            for arc in sorted((a for a in self.arcs if a.ink == ink), key=lambda a: -len(a.points)):
                for a, b in self._free(arc.points, near, radius) if ink > 1 else [(0, len(arc.points))]:
                    points = arc.points[a:b]
                    whole = len(points) == len(arc.points)
                    part = arc.pieces if whole else smooth(points, arc.middles[a : b - 1], self._close(len(points)))
                    data.append(self.path(part))
                    if ink <= SHUT:
                        drawn[points[:, 1], points[:, 0]] = 1
            near |= cv2.dilate(drawn, disc)
            out[ink] = "".join(data)
        return out

    def _free(self, points: NDArray[np.int64], near: NDArray[np.uint8], radius: int) -> list[tuple[int, int]]:
        """The stretches of a line that do not run along heavier ink; where it only meets or crosses it, it stays."""
        hit = near[points[:, 1], points[:, 0]] > 0
        cuts = [0, *(np.nonzero(np.diff(hit))[0] + 1).tolist(), len(hit)]
        keep = np.ones(len(points), bool)
        for a, b in pairwise(cuts):
            if hit[a] and b - a > 3.2 * radius:
                keep[a:b] = False
        if keep.all():
            return [(0, len(points))]
        edges = np.nonzero(np.diff(np.r_[False, keep, False].astype(int)))[0].reshape(-1, 2)
        return [(int(a), int(b)) for a, b in edges if b - a > 4 * radius]

    # -- tap areas -------------------------------------------------------------------------------
    def taps(
        self, box: tuple[float, float, float, float] | None = None, turned: bool = False
    ) -> tuple[dict[str, float], dict[str, str]]:
        """Tap areas when the part `box` (x, y, w, h in units) is shown 360 px wide, turned by a quarter or not.

        Zones thinner than a finger (24 px) grow by what they lack into whatever is not as thin. Returns the widest circle,
        px, that fits into each zone's tap area, and the path data of the areas that grew.
        """
        k = self.px / self.unit
        x, y, w, h = box or (0, 0, *self.size)
        rows, cols = slice(max(0, round(y / k)), round((y + h) / k)), slice(max(0, round(x / k)), round((x + w) / k))
        label = self.label[rows, cols]
        css = (h if turned else w) / k / PHONE
        f = max(1, int(css / 2))
        number = {zone: n for n, zone in enumerate(self.zones, 1)}
        table = np.array([number.get(z or "", 0) for z in self.zone_of], np.int32)
        zone = table[label[::f, ::f]]
        here = [n for n in np.unique(zone).tolist() if n]
        thick = {n: self._thick((zone == n).astype(np.uint8)) * f / css for n in here}
        here = [n for n in here if thick[n] >= 1.2]
        small = [n for n in here if thick[n] < FINGER]
        lack = {n: ((FINGER - thick[n]) / 2 + 1.5) * css / f for n in small}
        grown = _grown(zone, lack)
        owner = np.where(grown > 0, grown, zone)
        sizes = {self.zones[n - 1]: round(self._thick((owner == n).astype(np.uint8)) * f / css, 1) for n in here}
        arcs = outlines_of(grown)
        origin = np.array([cols.start, rows.start])
        for arc in arcs:
            arc.pieces = [tuple(p * f + origin for p in piece) for piece in smooth(arc.points, arc.middles, 1.6)]
        paths = {self.zones[n - 1]: self.outline(lambda m, n=n: m == n, arcs) for n in small}
        return sizes, paths


def _grown(zone: NDArray[np.int32], lack: Mapping[int, float]) -> NDArray[np.int32]:
    """The small zones, each grown by the pixels it lacks; between two of them the nearer takes the ground."""
    if not lack:
        return np.zeros_like(zone)
    away = (~np.isin(zone, list(lack))).astype(np.uint8)
    distance, nearest = cv2.distanceTransformWithLabels(away, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
    owner = np.zeros(int(nearest.max()) + 1, np.int32)
    at = away == 0
    owner[nearest[at]] = zone[at]
    reach = np.zeros(int(zone.max()) + 1, np.float32)
    reach[list(lack)] = list(lack.values())
    taker = owner[nearest]
    return np.where(distance <= reach[taker], taker, 0).astype(np.int32)


def _key(point: NDArray[np.int64]) -> tuple[int, int]:
    return int(point[0]), int(point[1])


def _pair(p: Floats) -> str:
    return f"{p[0] + 0:.0f} {p[1] + 0:.0f}"
