"""Body drawings as they stand in a page: classes in place of styles, belief as tint, hatching and dashes, zones to be chosen."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from weldworth.drawings.shelf import View, bodies, svg, views
from weldworth.report.sheet import ZoneRow

_STYLE = re.compile(r"<style>.*?</style>\n?", re.DOTALL)
_ZONE = re.compile(r'<path class="zone" id="([^"]+)" data-zone="([^"]+)"([^>]*?) d="([^"]*)"/>')
_HIT = re.compile(r'<path class="hit" data-zone="([^"]+)"[^>]*/>\n?')
_INK = '<g class="inkl">'
_PITCHES = ((1, 13.0), (2, 8.5), (3, 5.5))


@dataclass(frozen=True, slots=True)
class Plate:
    """One drawing of a page. name : of the view. form : whole, portrait or crop. drawn : the SVG."""

    name: str
    title: str
    form: str
    zones: tuple[str, ...]
    drawn: Markup


@dataclass(frozen=True, slots=True)
class Layer:
    """A switch between drawings: the word on it, and the views that it shows."""

    id: str
    label: str
    views: tuple[str, ...]


LAYERS = (
    Layer("left", "Left and below", ("left", "below")),
    Layer("right", "Right and above", ("right", "plan")),
    Layer("ends", "Ends", ("front", "rear", "rear-open")),
    Layer("inside", "Skin off", ("floor", "forward", "section-l", "section-r")),
    Layer("frame", "Frame alone", ("frame", "underbody", "platform")),
    Layer("bays", "Bays", ("bay", "bed", "bed-bare", "trunk", "cargo")),
)


def layers_of(body: str) -> tuple[Layer, ...]:
    """The switches that show something for this body; none where it has no drawings."""
    if body not in bodies():
        return ()
    known = [view.name for view in views(body) if view.form == "whole" and view.taps]
    placed = {name for one in LAYERS for name in one.views}
    rest = Layer("more", "More", tuple(name for name in known if name not in placed))
    kept = (Layer(one.id, one.label, tuple(name for name in one.views if name in known)) for one in (*LAYERS, rest))
    return tuple(one for one in kept if one.views)


def layer_with(body: str, zone: str) -> str | None:
    """The first switch whose drawings, close-ups included, show the zone largest."""
    best = max(
        (
            (view.taps[zone], layer.id)
            for layer in layers_of(body)
            for view in views(body)
            if view.whole in layer.views and zone in view.taps
        ),
        default=None,
    )
    return best[1] if best else None


def plates(body: str, layer: Layer, rows: Mapping[str, ZoneRow], chosen: str | None) -> tuple[Plate, ...]:
    """The drawings of one switch, each followed by its form for a phone and its close-ups where it has them, toned by belief."""
    of_body = views(body)
    shown = [view for name in layer.views for view in of_body if view.whole == name]
    return tuple(Plate(view.name, view.title, view.form, view.zones, _toned(view, rows, chosen)) for view in shown)


def _toned(view: View, rows: Mapping[str, ZoneRow], chosen: str | None) -> Markup:
    """The view with its zones to be chosen; what this vehicle does not have, such as a part of an option, is only drawn."""
    text = _STYLE.sub("", svg(view.body, view.name))
    over: list[str] = []
    marks: list[str] = []

    def zone(match: re.Match[str]) -> str:
        id, name, rest, d = match.groups()
        row = rows.get(name)
        if row is None:
            return f'<path class="f-body" d="{d}"/>'
        if row.hatch:
            over.append(f'<path class="over" fill="url(#h{row.hatch}-{view.name})" d="{d}"/>')
        if name == chosen:
            marks.append(f'<path class="pick" d="{d}"/>')
        elif not row.seen:
            marks.append(f'<path class="unseen" d="{d}"/>')
        words = f"{row.label}, {row.likely}, {row.bad_text}"
        return f'<path class="zone k{row.tint}" id="{id}" data-zone="{name}"{rest} d="{d}"><title>{words}</title></path>'

    text = _HIT.sub(lambda match: match[0] if match[1] in rows else "", _ZONE.sub(zone, text))
    text = text.replace(_INK, f'<g class="hatches">{"".join(over)}</g>{_INK}', 1)
    hits = text.find('<g class="hits"')
    at = hits if hits >= 0 else text.rindex("</svg>")
    text = text[:at] + f'<g class="marks">{"".join(marks)}</g>' + text[at:]
    head = text.index(">", text.index("<svg")) + 1
    return Markup(text[:head] + "<defs>" + _hatching(view) + "</defs>" + text[head:])


def _hatching(view: View) -> str:
    """Three pitches of a line of ink and a line of paper side by side; a script keeps them at screen size."""
    turned = f'patternUnits="userSpaceOnUse" patternTransform="rotate(45) scale({view.per_px:.2f})"'
    return "".join(
        f'<pattern id="h{n}-{view.name}" class="hp" width="{pitch}" height="{pitch}" {turned}>'
        f'<path class="hi" d="M.6 0v{pitch}"/><path class="hw" d="M1.7 0v{pitch}"/></pattern>'
        for n, pitch in _PITCHES
    )
