"""'Stand here, frame this': one small picture for every picture that a zone asks for.

Above: the vehicle from above, the camera and its field of view. Below right: what to frame, in corner marks. Below left:
signs for how to hold the phone (low, under, above, inside) and for a lamp from the side. A zone too long for one picture is
framed where it begins; arrows, above and below, say which way to go on, those above how far: to their heads.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from engine.drawing import Drawing
from engine.planar import SHUT, SILHOUETTE, STEP
from engine.raster import Picture, render
from engine.shapes import Floats
from engine.solid import Body
from numpy.typing import NDArray
from views import ABOVE, ViewOf

SCALE = 0.0165
INK, ACCENT, PAPER, METAL = "#211c17", "#7a2363", "#faf6ec", "#f0e8d8"
SIGNS = {
    "ARM": (),
    "CLOSE": ("lamp",),
    "RAKE": ("lamp",),
    "UNDER": ("under", "lamp"),
    "BELOW": ("under",),
    "INTO": ("inside",),
    "LIFT": ("above",),
    "GAP": (),
    "ARCH": ("low", "lamp"),
    "END": ("low",),
    "UP": ("inside", "low"),
}
AWAY = {
    "ARM": 600,
    "CLOSE": 300,
    "RAKE": 1200,
    "UNDER": 500,
    "BELOW": 500,
    "INTO": 150,
    "LIFT": 500,
    "GAP": 500,
    "ARCH": 450,
    "END": 800,
    "UP": 450,
}
Ends = tuple[Floats, ...]
BOLD = 5  # pixels of 260 across; what is thinner is no more than a blot at the size of a stamp
PHONE, FLOOR = '<rect x="{}" y="{}" width="{}" height="{}" rx="2" fill="#211c17"/>', "M2 33H34"
GLYPHS = {
    "low": f'<path d="{FLOOR}M17.500 3v8m-4-4l4 4 4-4"/>' + PHONE.format(13, 17, 9, 15),
    "under": f'<path d="M2 10H34{FLOOR}M5 10v-5h26v5M28 27v-11m-4 4l4-4 4 4"/>' + PHONE.format(9, 24, 15, 8),
    "above": f'<path d="{FLOOR}M18 15v12m-4-4l4 4 4-4"/>' + PHONE.format(10, 4, 16, 8),
    "inside": '<path d="M13 4H33V32H13M13 4V10M13 26V32M2 18h13m-4-4l4 4-4 4"/>' + PHONE.format(19, 11, 8, 14),
    "lamp": f'<path d="{FLOOR}M15 21l18-5M16 24l17 1M16.500 27l13 4"/><path d="M3 22l7-3 3 7-7 3z" fill="#211c17"/>',
}


@dataclass(frozen=True)
class Sight:
    """A zone as one view shows it. at: middle in space, mm; box: left, bottom, right, top in the picture plane; area: mm2.

    spots : (n, 2), some places of the zone in the picture plane, mm. depth : of its middle, mm towards the viewer.
    """

    view: ViewOf
    at: Floats
    box: tuple[float, float, float, float]
    area: float
    spots: Floats
    depth: float


class Pictograms:
    """The pictograms of one body."""

    def __init__(self, body: Body, views: Sequence[ViewOf], stands: Mapping[str, Any] | None = None) -> None:
        self.body, self.stands = body, stands or {}
        self._pictures = {
            view.name: (
                view,
                render(body, view.axes, 4.0, without=view.without, only=view.only, clip=view.clip, bounds=view.bounds),
            )
            for view in views
            if view.name != "three-quarter"
        }
        self._sights: dict[str, list[Sight]] = {}
        self._framed: dict[tuple[Any, ...], str] = {}
        for view, picture in self._pictures.values():
            self._look(view, picture)
        self._plan, self._plan_at = self._vehicle()

    def _look(self, view: ViewOf, picture: Picture) -> None:
        zone_of = [None if label is None else label.zone for label in self.body.labels]
        for zone in sorted({zone_of[n] for n in np.unique(picture.label).tolist()} - {None}):
            mask = np.isin(picture.label, [n for n, z in enumerate(zone_of) if z == zone])
            i, j = np.nonzero(mask)
            if len(i) < 12:
                continue
            one = np.nonzero(_largest(mask))
            if len(i) < 0.12 * np.ptp(i) * np.ptp(j):  # a few pieces far apart: one of them is shown
                i, j = one
            elif max(np.ptp(one[0]), np.ptp(one[1])) < 0.08 * max(np.ptp(i), np.ptp(j)):  # small ones in a row: the first
                i, j = np.nonzero(_largest(mask, 1 if view.axes[0, 0] >= 0 else -1))
            X, Y = picture.bounds[0] + (j + 0.5) * picture.px, picture.bounds[3] - (i + 0.5) * picture.px
            at = np.array([X.mean(), Y.mean(), float(picture.depth[i, j].mean())]) @ picture.axes
            low_x, high_x, low_y, high_y = np.percentile(X, 2), np.percentile(X, 98), np.percentile(Y, 2), np.percentile(Y, 98)
            box, spots = (low_x, low_y, high_x, high_y), np.stack([X, Y], 1)[:: max(1, len(X) // 400)]
            depth = float(picture.depth[i, j].mean())
            self._sights.setdefault(zone, []).append(Sight(view, at, box, len(i) * picture.px**2, spots, depth))

    def _vehicle(self) -> tuple[str, tuple[float, float]]:
        """The vehicle from above, and where the front axle's middle lies in it, px."""
        picture = render(self.body, ABOVE, 10.0, without=("gatedown", "wiper"))
        drawing = Drawing(self.body, picture, tol=1.1)
        scale = SCALE * 100
        whole = drawing.outline(lambda n: n > 0, scale=scale)
        lines = "".join(drawing.path(a.pieces, scale=scale) for a in drawing.arcs if a.ink == STEP and len(a.points) > 30)
        glass = drawing.outline(lambda n: drawing.kind_of[n] == "glass", scale=scale)
        text = (
            f'<g transform="scale(.1)"><path d="{whole}" fill="{METAL}" stroke="{INK}" stroke-width="12"/>'
            f'<path d="{glass}" fill="#cfc8b8"/><path d="{lines}" fill="none" stroke="{INK}" stroke-width="7"/></g>'
        )
        left, bottom, right, top = (q * SCALE for q in picture.bounds)
        x, y = 80 - (right - left) / 2, 32 - (top - bottom) / 2
        return f'<g transform="translate({x:.1f} {y:.1f})">{text}</g>', (x - left, y + top)

    # -- choosing --------------------------------------------------------------------------------
    def sight(self, zone: str, word: str, station: str) -> Sight:
        """The view that shows best what to frame."""
        side = {"l": "left", "r": "right"}.get(zone[-1] if zone[-2] == "." else "", "")
        wanted = {
            "UNDER": ("below", "underbody", "frame"),
            "BELOW": ("below", "underbody"),
            "LIFT": ("floor", "bed"),
            "UP": ("forward",),
            "ARCH": (side, "below"),
            "INTO": (f"section-{zone[-1]}", "bay", "floor", "bed", "rear-open", "plan"),
        }.get(word, ())
        near = {
            "outside": (side, "rear", "front", "bed", "plan"),
            "inside": ("floor", "forward", "plan", f"section-{zone[-1]}"),
            "engine bay": ("bay",),
            "underneath": (side, "rear-open", "below"),
        }
        sights = {s.view.name: s for s in self._sights[zone]}
        most = max(s.area for s in sights.values())
        for name in (*wanted, *near.get(station, ())):
            if name in sights and sights[name].area > 0.12 * most:
                return sights[name]
        return max(sights.values(), key=lambda s: s.area)

    def stand(self, zone: str, word: str, sight: Sight, station: str) -> tuple[Floats, Floats]:
        """Where the camera is and what it is aimed at, in plan, mm."""
        at = self._middle(zone)
        aim = at[:2].copy()
        s = np.sign(at[1]) if abs(at[1]) > 150 else 0.0
        away = AWAY[word] + 250
        if zone in self.stands:
            return np.array(self.stands[zone], float), aim
        if zone.rpartition(".")[0] in self.stands:
            x, y = self.stands[zone.rpartition(".")[0]]
            return np.array([x, y * (s or 1)]), aim
        if word in ("LIFT", "UP") or (station == "inside" and word not in ("RAKE", "UNDER", "BELOW", "ARCH", "END")):
            return aim + np.array([380.0, -s * 260 if s else 200.0]), aim
        if station == "engine bay":
            return np.array([aim[0], (s or 1) * 1350.0]), aim
        if word == "RAKE" and s:
            return np.array([aim[0] + (900 if aim[0] > 900 else -900), s * 1500.0]), np.array([aim[0], s * 900.0])
        if s:
            return np.array([aim[0] + (260 if word == "CLOSE" else 0), s * min(1500, 1000 + 0.45 * away)]), aim
        if aim[0] < 700:
            return np.array([-1000.0 - away, 350.0]), aim
        return (
            (np.array([4200.0 + away, 350.0]), aim) if aim[0] > 2300 else (np.array([aim[0], min(1500, 1000 + 0.45 * away)]), aim)
        )

    def _middle(self, zone: str) -> Floats:
        return max(self._sights[zone], key=lambda s: s.area).at

    # -- drawing ---------------------------------------------------------------------------------
    def draw(self, zone: str, word: str, station: str) -> str:
        """The pictogram as an SVG of 160 by 160."""
        sight = self.sight(zone, word, station)
        camera, aim = self.stand(zone, word, sight, station)
        onward: Ends = ()
        if word in ("UNDER", "BELOW") and abs(sight.view.axes[2][2]) > 0.9:
            sight, aim, onward = self._beginning(sight, camera, aim)
        signs = tuple(
            dict.fromkeys(
                [
                    *SIGNS[word],
                    *(("inside",) if station == "inside" and word in ("LIFT", "CLOSE", "ARM") else ()),
                    *(("above",) if station == "engine bay" and word == "ARM" else ()),
                ]
            )
        )
        key = (zone, sight.view.name, sight.box, tuple(tuple(end.tolist()) for end in onward))
        if key not in self._framed:  # the pictures of a zone often differ in their signs alone
            self._framed[key] = self._what(zone, sight, onward)
        glyphs = "".join(f'<g transform="translate(12 {76 + 40 * k})">{GLYPHS[name]}</g>' for k, name in enumerate(signs[:2]))
        going = f' data-onward="{len(onward)}"' if onward else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 160" data-zone="{zone}"'
            f' data-signs="{" ".join(signs[:2])}"{going}>\n'
            f'<rect width="160" height="160" fill="{PAPER}"/>\n{self._where(camera, aim, onward)}\n'
            f'<g fill="none" stroke="{INK}" stroke-width="2" stroke-linejoin="round" stroke-linecap="round">{glyphs}</g>\n'
            f"{self._framed[key]}\n</svg>\n"
        )

    @staticmethod
    def _beginning(sight: Sight, camera: Floats, aim: Floats, most: float = 1000) -> tuple[Sight, Floats, Ends]:
        """A zone that spans more than `most` mm seen from below: its part that is nearest to the camera, where one begins.

        The last are its ends beyond the picture, mm in space, to which one goes on.
        """
        left, bottom, right, top = sight.box
        if max(right - left, top - bottom) <= most:
            return sight, aim, ()
        near = np.array([camera[0], camera[1], 0.0]) @ sight.view.axes.T
        away = np.sqrt(((sight.spots - near[:2]) ** 2).sum(1))
        first = sight.spots[away.argmin()]
        part = sight.spots[np.abs(sight.spots - first).max(1) < most / 2]
        (x0, y0), (x1, y1) = part.min(0), part.max(0)
        middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
        box = float(x0), float(y0), float(x1), float(y1)
        shown, ends = 1.1 * _half(box), []
        for along, way in ((0, -1), (0, 1), (1, -1), (1, 1)):
            far = sight.spots[(sight.spots[:, along] * way).argmax()]
            far = sight.spots[np.abs(sight.spots - far).max(1) < 150].mean(0)
            if (far[along] - middle[along]) * way > shown:
                if abs(far[1 - along] - middle[1 - along]) > 0.35 * abs(far[along] - middle[along]):  # a corner
                    far[1 - along] = middle[1 - along]
                ends.append(far)
        at, *onward = (np.array([*q, sight.depth]) @ sight.view.axes for q in (middle, *ends))
        return replace(sight, box=box), at[:2], tuple(onward)

    def _where(self, camera: Floats, aim: Floats, onward: Ends) -> str:
        # y is the driver's left, which lies at the foot of the sheet: the nose points to its left
        px = lambda q: np.array([self._plan_at[0] + q[0] * SCALE, self._plan_at[1] + q[1] * SCALE])  # noqa: E731
        c, a = px(camera), px(aim)
        way = (a - c) / np.sqrt(((a - c) ** 2).sum())
        far = max(14.0, float(np.sqrt(((a - c) ** 2).sum())) + 3)
        out = np.array([-way[1], way[0]])
        left, right = c + way * far + out * far * 0.36, c + way * far - out * far * 0.36
        turn = np.degrees(np.arctan2(way[1], way[0]))
        arrows = "".join(_arrow(a, px(end), 4.5, f'stroke="{ACCENT}" stroke-width="2"') for end in onward)
        return (
            f'<g>{self._plan}<path d="M{_p(c)}L{_p(left)}L{_p(right)}z" fill="{ACCENT}" fill-opacity=".28"/>'
            f'<circle cx="{a[0]:.1f}" cy="{a[1]:.1f}" r="2.4" fill="{ACCENT}"/>{arrows}'
            f'<g transform="translate({_p(c)}) rotate({turn:.0f})">'
            f'<rect x="-7.500" y="-4.500" width="8" height="9" rx="1.500" fill="{INK}"/>'
            f'<path d="M0-2l3.300-2v8l-3.300-2z" fill="{INK}"/></g></g>'
        )

    def _what(self, zone: str, sight: Sight, onward: Ends) -> str:
        left, bottom, right, top = sight.box
        middle, half = np.array([(left + right) / 2, (bottom + top) / 2]), _half(sight.box)
        reach = half * 1.3
        window = (middle[0] - reach, middle[1] - reach, middle[0] + reach, middle[1] + reach)
        view = sight.view
        picture = render(
            self.body, view.axes, 2 * reach / 260, without=view.without, only=view.only, clip=view.clip, bounds=window
        )
        drawing = Drawing(self.body, picture, tol=1.1, least=0, bold=(BOLD, zone))
        k = 1000 / 260
        ink = "".join(drawing.path(a.pieces, scale=k) for a in drawing.arcs if a.ink in (SILHOUETTE, STEP) and len(a.points) > 8)
        thin = "".join(drawing.path(a.pieces, scale=k) for a in drawing.arcs if a.ink == SHUT and len(a.points) > 12)
        shape = drawing.outline(lambda n: drawing.zone_of[n] == zone, scale=k)
        whole = drawing.outline(lambda n: n > 0, scale=k)
        a, b = 500 - 500 / 1.18, 500 + 500 / 1.18
        corners = "".join(f"M{x} {y + dy}V{y}H{x + dx}" for x, dx in ((a, 130), (b, -130)) for y, dy in ((a, 130), (b, -130)))
        corners = corners.replace(f"{a}", f"{a:.0f}").replace(f"{b}", f"{b:.0f}")
        arrows = ""
        for end in onward:  # from the zone out between the corner marks
            way = (end @ view.axes.T)[:2] - middle
            way = np.array([way[0], -way[1]]) / np.sqrt((way * way).sum())
            line, strokes = (500 + 150 * way, 500 + 425 * way), ((PAPER, 64), (INK, 30))
            arrows += "".join(_arrow(*line, 90, f'stroke="{tone}" stroke-width="{wide}"') for tone, wide in strokes)
        return (
            '<svg x="66" y="68" width="90" height="88" viewBox="45 56 910 888" preserveAspectRatio="xMidYMid slice">'
            f'<path d="{whole}" fill="{METAL}" fill-rule="evenodd"/>'
            f'<path d="{shape}" fill="{ACCENT}" stroke="{ACCENT}" stroke-width="20" fill-rule="evenodd"/>'
            f'<g fill="none" stroke="{INK}" stroke-linejoin="round"><path d="{thin}" stroke-width="6"/>'
            f'<path d="{ink}" stroke-width="11"/>'
            f'<path d="{corners}" stroke-width="24"/>{arrows}</g></svg><path d="M0 64.500H160" stroke="{INK}"/>'
        )


def _largest(mask: NDArray[np.bool_], way: int = 0) -> NDArray[np.bool_]:
    """The largest connected piece of a mask; with `way` 1 or -1 the leftmost or rightmost of those that are about as large."""
    _, pieces, stats, middles = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    area = stats[1:, cv2.CC_STAT_AREA]
    alike = np.nonzero(area >= 0.8 * area.max())[0] if way else np.array([area.argmax()])
    return np.asarray(pieces == 1 + int(alike[(way * middles[1:, 0][alike]).argmin()]))


def _half(box: tuple[float, float, float, float]) -> float:
    """Half of what a picture shows round the middle of a box, mm."""
    left, bottom, right, top = box
    return max(240.0, 0.72 * max(right - left, top - bottom))


def _arrow(start: Floats, end: Floats, head: float, stroke: str) -> str:
    """An arrow as a path."""
    way = (end - start) / np.sqrt(((end - start) ** 2).sum())
    out = np.array([-way[1], way[0]])
    one, other = end - way * head + out * head * 0.8, end - way * head - out * head * 0.8
    return f'<path d="M{_p(start)}L{_p(end)}M{_p(one)}L{_p(end)}L{_p(other)}" fill="none" {stroke}/>'


def _p(q: Floats) -> str:
    return f"{q[0]:.1f} {q[1]:.1f}"


def asked(plan: Path, battery: str = "r") -> list[tuple[str, int, str, str]]:
    """Every picture that the zones of a plan file ask for: zone id with its side, number, photo word, station."""
    content = tomllib.loads(plan.read_text(encoding="utf-8"))
    out: list[tuple[str, int, str, str]] = []
    for zone in content["zone"]:
        for end in (".l", ".r") if zone["side"] == "both" else ("",):
            out += [(zone["id"] + end, number, word, zone["station"]) for number, (word, _) in enumerate(zone["photo"], 1)]
    return out
