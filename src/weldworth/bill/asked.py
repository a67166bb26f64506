"""What the metal of each draw asks for, kept apart by the replacements that would take the zone along.

Worked out once for a bill; with any parts replaced it is what the other zones ask for, which is quick to find.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weldworth.bill.layout import Layout
from weldworth.bill.spread import Floats
from weldworth.vehicle.conditions import HOLED, MASKED, SOUND

Codes = NDArray[np.uint8]
Flags = NDArray[np.bool_]
Draws = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Left:
    """What is asked for with some parts replaced, one column for each draw.

    level : (jobs, draws) operation, 0 none. masked, cut : (jobs, draws) whether a zone of the job is masked, or holed or masked
    where holed metal is cut out. share : (set-ups and their sides, draws), codes of Asked.shares. painted : (panels, draws).
    """

    level: Codes
    masked: Flags
    cut: Flags
    share: Codes
    painted: Flags


@dataclass(frozen=True)
class Asked:
    """What every zone asks for. takers : the kinds of zones by the parts that would take them along, a `Left` for each.

    shares : the shares of a set-up that occur, rising, 0 first. rows : (set-up, side) of each row of `share`.
    """

    takers: tuple[frozenset[int], ...]
    by_takers: tuple[Left, ...]
    shares: Floats
    rows: tuple[tuple[int, str], ...]

    def left(self, chosen: Sequence[int], draws: Draws | None = None) -> Left:
        """What is still asked for with the parts `chosen` fitted, in these draws or in all."""
        kept = [left for parts, left in zip(self.takers, self.by_takers, strict=True) if not parts & set(chosen)]

        def joined(part: Callable[[Left], NDArray[np.uint8]]) -> NDArray[np.uint8]:
            arrays = [part(left) if draws is None else np.take(part(left), draws, axis=1) for left in kept]
            if not arrays:
                first = part(self.by_takers[0])
                return np.zeros((first.shape[0], first.shape[1] if draws is None else draws.size), dtype=first.dtype)
            out = arrays[0] if draws is not None or len(arrays) == 1 else arrays[0].copy()
            for more in arrays[1:]:
                np.maximum(out, more, out=out)
            return out

        return Left(
            joined(lambda left: left.level),
            joined(lambda left: left.masked.view(np.uint8)).view(np.bool_),
            joined(lambda left: left.cut.view(np.uint8)).view(np.bool_),
            joined(lambda left: left.share),
            joined(lambda left: left.painted.view(np.uint8)).view(np.bool_),
        )


def takers_of(layout: Layout) -> list[frozenset[int]]:
    """For each zone, the replacements that would take it along."""
    found: list[frozenset[int]] = [frozenset()] * len(layout.plan.zones)
    for part, zones in enumerate(layout.covers):
        for zone in zones:
            found[zone] |= {part}
    return found


def asked_by(layout: Layout, conditions: NDArray[np.intp]) -> Asked:
    """What (zones, draws) `conditions` ask for. Sound metal asks for nothing."""
    draws, zone_takers = conditions.shape[1], takers_of(layout)
    takers = tuple(sorted(set(zone_takers), key=sorted))
    class_of = [takers.index(parts) for parts in zone_takers]
    rows = tuple(sorted({(setup, side) for setup, side, _, _ in layout.setup_asks}))
    row_of = {pair: row for row, pair in enumerate(rows)}
    shares = np.unique(np.concatenate([[0.0], *(lookup for *_, lookup in layout.setup_asks)]))

    def codes(count: int) -> list[Codes]:
        return [np.zeros((count, draws), dtype=np.uint8) for _ in takers]

    def flags(count: int) -> list[Flags]:
        return [np.zeros((count, draws), dtype=np.bool_) for _ in takers]

    level, share = codes(len(layout.jobs)), codes(len(rows))
    masked, cut, painted = flags(len(layout.jobs)), flags(len(layout.jobs)), flags(len(layout.panels))
    bad = conditions != SOUND
    needed = [zone if bad[zone].any() else -1 for zone in range(conditions.shape[0])]
    is_masked = conditions == MASKED
    is_cut = is_masked | (conditions == HOLED)
    for j, job in enumerate(layout.jobs):
        for zone, lookup in job.asks:
            if needed[zone] < 0:
                continue
            kind = class_of[zone]
            np.maximum(level[kind][j], lookup.astype(np.uint8)[conditions[zone]], out=level[kind][j])
            masked[kind][j] |= is_masked[zone]
            if lookup[HOLED]:
                cut[kind][j] |= is_cut[zone]
    for setup, side, zone, figures in layout.setup_asks:
        if needed[zone] >= 0:
            row = share[class_of[zone]][row_of[(setup, side)]]
            np.maximum(row, np.searchsorted(shares, figures).astype(np.uint8)[conditions[zone]], out=row)
    for panel, zone, colours in layout.panel_asks:
        if needed[zone] >= 0:
            painted[class_of[zone]][panel] |= colours[conditions[zone]]
    left = zip(level, masked, cut, share, painted, strict=True)
    return Asked(takers, tuple(Left(*one) for one in left), shares, rows)
