"""What a draughtsman leaves out of a view: panels that are only slivers there, drawn as the panel round them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.raster import PLAIN, Picture
from engine.solid import Body

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Plain:
    """Panels drawn as another panel.

    panels : names of panels, an end "*" for anything. drawn_as : the panel that is drawn in their place, its part without a zone
    where it has one. box : left, bottom, right, top of the picture plane, mm, where this holds; None = everywhere.
    """

    panels: tuple[str, ...]
    drawn_as: str
    box: Box | None = None

    def covers(self, panel: str) -> bool:
        """Whether a panel is one of them."""
        return any(panel.startswith(name[:-1]) if name.endswith("*") else panel == name for name in self.panels)


def plainly(picture: Picture, body: Body, plain: Sequence[Plain]) -> Picture:
    """The picture with every `plain` panel painted over, in the order given; steps and bends there draw no ink of their own."""
    label, sheet = picture.label.copy(), picture.sheet.copy()
    known = [(n, q) for n, q in enumerate(body.labels) if q is not None]
    for rule in plain:
        over = [n for n, q in known if rule.covers(q.panel)]
        ours = [n for _, n in sorted((q.zone is not None, n) for n, q in known if q.panel == rule.drawn_as)]
        if not over or not ours:
            raise ValueError(f"nothing is painted {rule.panels if not over else rule.drawn_as}")
        at = _window(picture, rule.box)
        hit = np.isin(np.arange(len(body.labels)), over)[label[at]]
        label[at] = np.where(hit, ours[0], label[at])
        sheet[at] = np.where(hit, PLAIN, sheet[at])
    return replace(picture, label=label, sheet=sheet)


def _window(picture: Picture, box: Box | None) -> tuple[slice, slice]:
    left, bottom, right, top = box or picture.bounds
    x0, _, _, y1 = picture.bounds
    rows, columns = ((y1 - top, y1 - bottom), (left - x0, right - x0))
    return tuple(slice(*(max(0, round(q / picture.px)) for q in ends)) for ends in (rows, columns))  # type: ignore[return-value]
