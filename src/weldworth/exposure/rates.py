"""First-year loss at a place: from measured air by the published formula, else from the class of its climate and the coast."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from weldworth.core.errors import BadInput, Problem
from weldworth.exposure.corrosion import CATEGORY_TOPS, category, first_year_rate
from weldworth.exposure.history import Air
from weldworth.exposure.places import Place
from weldworth.tables.load import Tables


@dataclass(frozen=True, slots=True)
class Rate:
    """um : first-year loss. category : ISO 9223. sd : of ln rate, [-]. roof : exponent, what a roof saves, [-]. words : why."""

    um: float
    category: str
    sd: float
    roof: float
    words: str


@dataclass(frozen=True, slots=True)
class Class:
    """One row of exposure_climate.csv: a Koeppen-Geiger class from some yearly rain on."""

    rain_from_mm: float
    um: float
    sd: float
    roof: float
    words: str


@dataclass(frozen=True, slots=True)
class RateTables:
    """classes : climate -> rows rising by rain. coast : (km, um) rising by km. spreads : cue -> sd of ln E."""

    classes: dict[str, list[Class]]
    coast: tuple[tuple[float, float], ...]
    spreads: dict[str, float]


SPREADS = ("unpapered", "place-unknown", "storage-unknown", "ground-unknown", "winters-unknown", "air-given")


def read_rates(tables: Tables) -> RateTables:
    """The tables exposure_climate, exposure_coast and exposure_spread; raises BadInput where they contradict themselves."""
    problems: list[Problem] = []
    classes: dict[str, list[Class]] = {}
    for row in tables.rows("exposure_climate.csv", ("climate", "rain_from_mm", "category", "rate_um", "sd", "roof", "words")):
        um, named = row.number("rate_um", low=0.01, high=CATEGORY_TOPS[-1][1]), row.text("category")
        if category(um) != named:
            problems.append(Problem(row.where, f"rate_um {um:g} lies in {category(um)}, not in {named}; change one of them"))
        entry = Class(
            row.number("rain_from_mm", low=0),
            um,
            row.number("sd", low=0, high=2),
            row.number("roof", low=0, high=1),
            row.text("words"),
        )
        classes.setdefault(row.text("climate"), []).append(entry)
    for climate, entries in classes.items():
        entries.sort(key=lambda entry: entry.rain_from_mm)
        if entries[0].rain_from_mm > 0:
            problems.append(Problem("exposure_climate.csv", f"{climate} has no row from 0 mm of rain on"))
    coast = sorted(
        (row.number("km", low=0), row.number("salt_um", low=0)) for row in tables.rows("exposure_coast.csv", ("km", "salt_um"))
    )
    spreads = {
        row.text("cue"): row.number("sd", low=0, high=2) for row in tables.rows("exposure_spread.csv", ("cue", "sd", "meaning"))
    }
    problems += [Problem("exposure_spread.csv", f"cue {cue!r} is missing") for cue in SPREADS if cue not in spreads]
    if not coast or coast[-1][1] != 0:
        problems.append(Problem("exposure_coast.csv", "the last row must be where the sea is no longer felt, with salt_um 0"))
    if problems:
        raise BadInput(problems)
    return RateTables(classes, tuple(coast), spreads)


def salt_of_the_sea(km: float, coast: tuple[tuple[float, float], ...]) -> float:
    """What the sea adds to the first-year loss at a distance in km, um; between rows it is straight in ln(km)."""
    at, um = zip(*coast, strict=True)
    return float(np.interp(np.log(max(km, at[0], 1e-6)), np.log(np.maximum(at, 1e-6)), um))


def rate_at(place: Place, air: Air | None, known: RateTables, *, where: str = "") -> Rate:
    """First-year loss of bare steel at a place, um, with how sure it is.

    With `air` the published formula; otherwise the row of its climate plus what the sea adds, as the formula adds its terms too.
    Raises BadInput for air outside the formula's ranges.
    """
    entry = [row for row in known.classes[place.climate] if row.rain_from_mm <= place.rain_mm][-1]
    if air is not None:
        warmth = place.temperature_c if air.temperature_c is None else air.temperature_c
        um = first_year_rate(warmth, air.rh, air.so2, air.chloride, where=where)
        return Rate(um, category(um), known.spreads["air-given"], entry.roof, "measured air")
    salt = salt_of_the_sea(place.sea_km, known.coast)
    words = entry.words + (f", {place.sea_km:.0f} km from the sea" if salt > 0 else "")
    return Rate(entry.um + salt, category(entry.um + salt), entry.sd, entry.roof, words)
