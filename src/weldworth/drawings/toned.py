"""Belief on a drawing: tint by badness, hatching by unsureness, dashes for the unseen, the accent for the chosen.

The tint is the cividis ramp (Nuñez, Anderton and Renslow 2018, PLOS ONE 13(7): e0199239) turned round, sound pale and
worst deep, its pale end thinned with paper; it reads in grey and by the colour-blind.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

RAMP = ("#faec98", "#e7da9a", "#cec498", "#b1ab94", "#92908c", "#72757d", "#4e5873", "#213d71", "#002451")
FILLS = {"body": "#f6f0e2", "soft": "#f3ecdd", "part": "#eee6d5", "tyre": "#e3dac8", "well": "#d8cebb", "glass": "#f2f0e8"}
ZONE, INK, PAPER, ACCENT = "#fffdf6", "#211c17", "#faf6ec", "#7a2363"
WEIGHTS = {"l4": 1.6, "l3": 1.1, "l2": 0.8, "l1": 0.55, "l0": 0.5}
HATCH_FROM = (0.25, 0.5, 0.75)
PITCH = (13.0, 8.5, 5.5)
LINE = 1.1


@dataclass(frozen=True, slots=True)
class Toned:
    """defs: hatch patterns; fill: zone to tone; hatch: laid over the tint; outlines: dashes and accent, over the ink."""

    defs: str
    fill: Mapping[str, str]
    hatch: str
    outlines: str


def tone(badness: float) -> str:
    """The colour for a badness of 0 (sound) to 1 (worst), one of nine steps."""
    return RAMP[round(badness * (len(RAMP) - 1))]


def hatching(unsure: float) -> int:
    """0 for none, or the hatch 1, 2, 3 for an unsureness of 0 to 1: the more unsure, the closer."""
    return sum(unsure >= start for start in HATCH_FROM)


def toned_layers(
    zones: Mapping[str, str],
    badness: Mapping[str, float],
    unsure: Mapping[str, float],
    unseen: Collection[str],
    chosen: str | None,
    per_px: float,
) -> Toned:
    """What is laid over the plain drawing whose zones have these path data; per_px: units per px of the sheet."""
    fill = {zone: tone(badness[zone]) for zone in zones if zone in badness}
    levels = {zone: hatching(unsure[zone]) for zone in zones if zone in unsure}
    hatched = "".join(f'<path class="hatch" fill="url(#hatch{n})" d="{zones[zone]}"/>\n' for zone, n in levels.items() if n)
    used = sorted({n for n in levels.values() if n})
    defs = "<defs>" + "".join(_pattern(n, per_px) for n in used) + "</defs>\n" if used else ""
    dashed = "".join(_dashed(zones[zone], per_px) for zone in zones if zone in unseen and zone != chosen)
    accent = (
        f'<path d="{zones[chosen]}" stroke="{ACCENT}" stroke-width="{3 * per_px:.2f}"/>\n'
        if chosen is not None and chosen in zones
        else ""
    )
    outlines = f'<g class="over">{dashed}{accent}</g>' if dashed or accent else ""
    return Toned(defs, fill, hatched, outlines)


def _pattern(n: int, per_px: float) -> str:
    """Two lines side by side, one of ink and one of paper, so that the hatch reads on pale and on deep."""
    pitch, line = PITCH[n - 1] * per_px, LINE * per_px
    size = f'width="{pitch:.2f}" height="{pitch:.2f}"'
    return (
        f'<pattern id="hatch{n}" {size} patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<rect width="{line:.2f}" height="{pitch:.2f}" fill="{INK}"/>'
        f'<rect x="{line:.2f}" width="{line:.2f}" height="{pitch:.2f}" fill="{PAPER}"/></pattern>'
    )


def _dashed(d: str, per_px: float) -> str:
    """A dashed outline on a strip of paper that covers the ink along the same edge, else the dashes would not show."""
    dashes = f'stroke-dasharray="{5 * per_px:.1f} {3 * per_px:.1f}" style="stroke-linecap:butt"'
    return (
        f'<path d="{d}" stroke="{PAPER}" stroke-width="{2.6 * per_px:.2f}"/>'
        f'<path d="{d}" stroke-width="{1.3 * per_px:.2f}" {dashes}/>\n'
    )
