"""Lengths as people write them: coating thickness, wall thickness, gaps, distances.

International inch and mile (1959): 1 in = 25.4 mm, 1 mile = 1.609344 km, both exact; 1 mil = 0.001 in = 25.4 um.
"""

from __future__ import annotations

from weldworth.core.words import unknown

MILLIMETRES = {"um": 0.001, "mil": 0.0254, "mm": 1.0, "cm": 10.0, "in": 25.4}
KILOMETRES = {"km": 1.0, "mi": 1.609344}
_SPELLED = {"µm": "um", "μm": "um", "micron": "um", "microns": "um", "mils": "mil", "inch": "in", "inches": "in", '"': "in"}
_SPELLED_FAR = {"mile": "mi", "miles": "mi", "kilometre": "km", "kilometres": "km", "kilometer": "km", "kilometers": "km"}


def millimetres(value: float, unit: str) -> float:
    """`value` in `unit` as millimetres.

    >>> round(millimetres(4.5, "mil"), 4)
    0.1143

    Raises ValueError for a unit that is not known, naming the nearest.
    """
    word = _SPELLED.get(unit.strip().lower(), unit.strip().lower())
    if word not in MILLIMETRES:
        raise ValueError(unknown("unit", unit, MILLIMETRES))
    return value * MILLIMETRES[word]


def written(unit: str) -> str:
    """A unit as it is printed: typed records say um, readers expect the sign.

    >>> written("um"), written("mil")
    ('µm', 'mil')
    """
    return "µm" if unit == "um" else unit


def kilometres(value: float, unit: str) -> float:
    """`value` in `unit` as kilometres; raises ValueError for a unit that is not known, naming the nearest.

    >>> kilometres(10.0, "mi")
    16.09344
    """
    word = _SPELLED_FAR.get(unit.strip().lower(), unit.strip().lower())
    if word not in KILOMETRES:
        raise ValueError(unknown("unit", unit, KILOMETRES))
    return value * KILOMETRES[word]


def miles(km: float) -> float:
    """Kilometres as miles.

    >>> miles(16.09344)
    10.0
    """
    return km / KILOMETRES["mi"]
