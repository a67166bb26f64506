"""What the vehicle is said to be."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Vehicle:
    """Identity as given; nothing here is verified.

    body : the body plan's name. model_year : as in the papers, 1900 onward, or None when unknown.
    number : the vehicle's number as read. odometer : what it reads, in odometer_unit ("mi" or "km"), never what it has done.
    battery_side : "left", "right" or None for the plan's usual side. options : fitted options that bring zones.
    """

    name: str
    body: str
    model_year: int | None = None
    number: str | None = None
    odometer: float | None = None
    odometer_unit: str = "mi"
    battery_side: str | None = None
    options: tuple[str, ...] = ()
