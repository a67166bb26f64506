"""The shelf of drawings: which views a body has, each as a stand-alone SVG, plain or toned by belief."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from xml.sax.saxutils import escape

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.core.words import unknown
from weldworth.drawings.toned import FILLS, INK, PAPER, WEIGHTS, ZONE, toned_layers
from weldworth.drawings.trimmed import Box, group_within, path_within

SHIPPED = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class View:
    """One view of a body.

    form : whole, portrait (the left end turned to the top, for a phone) or crop (a crowded place on its own).
    box : x, y, width, height of what is shown, in units of the drawing. turn : degrees clockwise that it is turned by.
    mm_per_unit : size of a unit on the vehicle. px_wide : width in px that the line weights are meant for.
    taps : every zone that can be tapped here, with the widest circle that fits its tap area at 360 px width, px.
    """

    body: str
    name: str
    title: str
    form: str
    box: Box
    turn: int
    mm_per_unit: float
    px_wide: float
    taps: Mapping[str, float]
    file: str
    taps_file: str

    @property
    def whole(self) -> str:
        """The name of the view that this is the whole, the portrait or a crop of."""
        return self.file.removesuffix(".svg")

    @property
    def zones(self) -> tuple[str, ...]:
        """The zones shown, in the order of their ids."""
        return tuple(self.taps)

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the drawing as shown, in units."""
        return (self.box[3], self.box[2]) if self.turn else (self.box[2], self.box[3])

    @property
    def per_px(self) -> float:
        """Units per px at the width that the line weights are meant for."""
        return self.size[0] / self.px_wide


@dataclass(frozen=True, slots=True)
class _Layers:
    """The parts of a drawing file: context fills, zone outlines, ink, tap areas, all as SVG text or path data."""

    base: str
    zones: Mapping[str, str]
    ink: str
    hits: str


def bodies() -> tuple[str, ...]:
    """The bodies that have drawings, in order of name."""
    return tuple(sorted(path.parent.name for path in SHIPPED.glob("*/index.json")))


@cache
def views(body: str) -> tuple[View, ...]:
    """All views of a body, wholes first seen, each followed by its portrait form and crops.

    Raises BadInput naming the nearest body when there are no drawings of `body`.
    """
    if body not in bodies():
        raise BadInput([Problem("drawings", unknown("body", body, bodies()))])
    index = json.loads((SHIPPED / body / "index.json").read_text(encoding="utf-8"))
    return tuple(
        View(
            body=body,
            name=item["name"],
            title=item["title"],
            form=item["form"],
            box=tuple(item["box"]),
            turn=item["turn"],
            mm_per_unit=item["mm_per_unit"],
            px_wide=item["px_wide"],
            taps=dict(item["taps"]),
            file=item["file"],
            taps_file=item["taps_file"],
        )
        for item in index["views"]
    )


def view_of(body: str, view: str) -> View:
    """The view of that name; raises BadInput naming the nearest when there is none."""
    known = {item.name: item for item in views(body)}
    if view not in known:
        raise BadInput([Problem(f"drawings of {body}", unknown("view", view, known))])
    return known[view]


def svg(body: str, view: str) -> str:
    """A view as a stand-alone SVG, untoned; a crop without what lies outside it.

    Zones are paths of class "zone" with `data-zone` and an id "view--zone"; tap areas of small zones lie above them as
    paths of class "hit". Raises BadInput for an unknown body or view.
    """
    shown = view_of(body, view)
    layers = _layers(body, view)
    zones = "".join(_zone(shown, zone, d, "") for zone, d in layers.zones.items())
    return _sheet(shown, "", layers.base + f'<g class="zones">{zones}</g>' + layers.ink + layers.hits)


def tinted(
    body: str,
    view: str,
    badness: Mapping[str, float],
    unsure: Mapping[str, float],
    unseen: Collection[str] = (),
    chosen: str | None = None,
) -> str:
    """A view as a stand-alone SVG, each zone toned by what is believed of it.

    badness : zone to expected badness, 0 (sound, pale) to 1 (worst, deep); a zone that is not named stays plain.
    unsure : zone to how unsure the belief is, 0 to 1; hatched in three pitches from a quarter on, more is closer.
    unseen : zones that nobody has seen, drawn with a dashed outline. chosen : the zone outlined in the accent.
    Zones that this view does not show are passed over. Raises BadInput with every number outside 0..1, and for an
    unknown body or view.
    """
    shown = view_of(body, view)
    problems = [
        Problem(f"{what} of {zone}", f"{value} is outside 0 to 1; give a share")
        for what, given in (("badness", badness), ("unsureness", unsure))
        for zone, value in given.items()
        if not 0 <= value <= 1
    ]
    if problems:
        raise BadInput(problems)
    layers = _layers(body, view)
    toned = toned_layers(layers.zones, badness, unsure, frozenset(unseen), chosen, shown.per_px)
    zones = "".join(_zone(shown, zone, d, toned.fill.get(zone, "")) for zone, d in layers.zones.items())
    inside = layers.base + f'<g class="zones">{zones}</g>' + toned.hatch + layers.ink + toned.outlines + layers.hits
    return _sheet(shown, toned.defs, inside)


def ask(body: str, zone: str, number: int = 1) -> str:
    """The pictogram of picture `number` of a zone: where to stand, which way, what to frame. Raises NotFound."""
    path = SHIPPED / body / "asks" / f"{zone}.{number}.svg"
    if body not in bodies() or path.parent.parent.parent != SHIPPED or not path.is_file():
        raise NotFound(f"no pictogram of picture {number} of zone {zone!r} of body {body!r}")
    return path.read_text(encoding="utf-8")


@lru_cache(maxsize=64)
def _layers(body: str, name: str) -> _Layers:
    view = view_of(body, name)
    text = (SHIPPED / body / view.file).read_text(encoding="utf-8")
    taps = (SHIPPED / body / view.taps_file).read_text(encoding="utf-8") if view.taps_file else _group(text, "hits")
    zones = dict(re.findall(r'data-zone="([^"]+)" d="([^"]*)"', _group(text, "zones")))
    base, ink = _group(text, "base"), _group(text, "inkl")
    if view.form == "crop":
        zones = {zone: kept for zone, d in zones.items() if (kept := path_within(d, view.box))}
        base, ink = group_within(base, view.box), group_within(ink, view.box)
    return _Layers(base, zones, ink, taps.strip())


def _group(text: str, name: str) -> str:
    found = re.search(rf'<g class="{name}">.*?</g>', text, re.DOTALL)
    return found.group() if found else ""


def _zone(view: View, zone: str, d: str, fill: str) -> str:
    tone = f' style="fill:{fill}"' if fill else ""
    return f'<path class="zone" id="{view.name}--{zone}" data-zone="{zone}"{tone} d="{d}"/>\n'


def _sheet(view: View, defs: str, inside: str) -> str:
    x, y, w, h = view.box
    frame = f"0 0 {h} {w}" if view.turn else f"{x} {y} {w} {h}"
    if view.turn:
        inside = f'<g transform="translate({h + y} {-x}) rotate(90)">{inside}</g>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{frame}" role="group" aria-label="{escape(view.title)}">\n'
        f"<style>{_style(view.per_px)}</style>\n{defs}{inside}\n</svg>\n"
    )


def _style(per_px: float) -> str:
    fills = "".join(f".f-{kind}{{fill:{tone}}}" for kind, tone in FILLS.items())
    weights = "".join(f".{name}{{stroke-width:{weight * per_px:.2f}}}" for name, weight in WEIGHTS.items())
    return (
        f".base,.zone{{fill-rule:evenodd}}{fills}.zone{{fill:{ZONE};stroke:{PAPER};stroke-width:{1.3 * per_px:.2f}}}"
        f".inkl,.over{{fill:none;stroke:{INK};stroke-linejoin:round;stroke-linecap:round}}{weights}"
        f".over{{pointer-events:none}}.hatch{{pointer-events:none;fill-rule:evenodd}}.hit{{fill:#000;fill-opacity:0;fill-rule:evenodd}}"
    )
