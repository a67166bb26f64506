"""What a life did to the metal, against a stated reference life."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from weldworth.core.remark import Remark

CHANNELS = ("bottom", "top", "floor", "acid")


@dataclass(frozen=True, slots=True)
class Stretch:
    """One stretch of the life: what it added.

    years : length, a. category : ISO 9223 class. rate_um : first-year loss, um. multipliers : name -> factor, [-].
    share : part of the final loss of the bottom channel that this stretch added, 0..1. known : False without a place.
    """

    label: str
    start: float
    end: float
    years: float
    category: str
    rate_um: float
    multipliers: Mapping[str, float]
    share: float
    known: bool
    note: str


@dataclass(frozen=True, slots=True)
class Exposure:
    """Metal loss relative to the reference life (50 years in a temperate place, mixed storage, no salt = 1).

    open_air, sheltered : channel (CHANNELS) -> E, [-], for drying faces and for cavities.
    spread : standard deviation of ln E that all zones share, [-].
    backward : (years ago, ln(E now / E then)) points, rising from (0, 0), of the bottom channel on drying faces.
    backward_sheltered : the same for cavities; empty where it is as `backward`.
    """

    open_air: Mapping[str, float]
    sheltered: Mapping[str, float]
    spread: float
    backward: tuple[tuple[float, float], ...] = ((0.0, 0.0),)
    stretches: tuple[Stretch, ...] = ()
    remarks: tuple[Remark, ...] = ()
    backward_sheltered: tuple[tuple[float, float], ...] = ()

    def factor(self, channel: str, sheltered: bool) -> float:
        """E of a zone in this channel, [-]."""
        return (self.sheltered if sheltered else self.open_air)[channel]

    def aged_back(self, years: float, sheltered: bool = False) -> float:
        """ln(E now / E then) for something seen `years` ago, at least 0: how much worse the metal is by now."""
        points = self.backward_sheltered if sheltered and self.backward_sheltered else self.backward
        ago, grown = zip(*points, strict=True)
        return float(np.interp(max(0.0, years), ago, grown))


def flat(factor: float, spread: float = 0.0) -> Exposure:
    """The same E for every channel, open and sheltered: for tests and worked examples."""
    same = {channel: factor for channel in CHANNELS}
    return Exposure(open_air=same, sheltered=same, spread=spread)
