"""A drawing as an SVG file: context fills, zones, ink, tap areas; one element per line."""

from __future__ import annotations

from collections.abc import Mapping
from xml.sax.saxutils import escape

from engine.drawing import KINDS, Drawing

FILLS = {"body": "#f6f0e2", "soft": "#f3ecdd", "part": "#eee6d5", "tyre": "#e3dac8", "well": "#d8cebb", "glass": "#f2f0e8"}
ZONE, INK, PAPER = "#fffdf6", "#211c17", "#faf6ec"
WEIGHTS = {1: ("l4", 1.6), 2: ("l3", 1.1), 3: ("l2", 0.8), 4: ("l1", 0.55), 5: ("l0", 0.5)}


def style(per_px: float) -> str:
    """The style of a stand-alone drawing; per_px: units per pixel at the width that the line weights are meant for."""
    fills = "".join(f".f-{kind}{{fill:{tone}}}" for kind, tone in FILLS.items())
    weights = "".join(f".{name}{{stroke-width:{weight * per_px:.2f}}}" for name, weight in WEIGHTS.values())
    return (
        f".base,.zone{{fill-rule:evenodd}}{fills}.zone{{fill:{ZONE};stroke:{PAPER};stroke-width:{1.3 * per_px:.2f}}}"
        f".inkl{{fill:none;stroke:{INK};stroke-linejoin:round;stroke-linecap:round}}{weights}.hit{{fill:#000;fill-opacity:0;fill-rule:evenodd}}"
    )


def svg_of(drawing: Drawing, name: str, title: str, hits: Mapping[str, str], px: float) -> str:
    """The file of a view. hits: path data of grown tap areas; px: the width in px that the line weights are meant for."""
    w, h = drawing.size
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" role="group" aria-label="{escape(title)}">',
        f"<style>{style(w / px)}</style>",
        '<g class="base">',
        *(f'<path class="f-{kind}" d="{d}"/>' for kind in KINDS if (d := drawing.kind_path(kind))),
        "</g>",
        '<g class="zones">',
        *(f'<path class="zone" id="{name}--{zone}" data-zone="{zone}" d="{drawing.zone_path(zone)}"/>' for zone in drawing.zones),
        "</g>",
        '<g class="inkl">',
        *(f'<path class="{WEIGHTS[ink][0]}" d="{d}"/>' for ink, d in reversed(drawing.ink().items()) if d),
        "</g>",
        hits_of(hits),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def hits_of(hits: Mapping[str, str]) -> str:
    """The group of tap areas."""
    return "\n".join(
        ['<g class="hits">', *(f'<path class="hit" data-zone="{zone}" d="{d}"/>' for zone, d in hits.items() if d), "</g>"]
    )
