"""Where a vehicle stood: from a US postal code, a town and its state, or coordinates anywhere, without a network."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import isfinite

import numpy as np

from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import nearest, unknown
from weldworth.exposure.atlas import Climate, Towns, distance_km, plain_name, read_climate, read_coast, read_towns
from weldworth.exposure.constants import constants
from weldworth.tables.load import Tables

BY_COORDINATES = "for a place outside the United States give latitude and longitude in degrees, such as 43.65, -79.38"


@dataclass(frozen=True, slots=True)
class Place:
    """A place and what its air does to steel.

    lat, lon : degrees, north and east positive. state : two letters, "" outside the United States.
    climate : Koeppen-Geiger class. temperature_c : mean of the year, degC. rain_mm : a year. sea_km : to the open sea, km.
    salted : whether roads are salted in winter there, None where that is not known.
    """

    name: str
    lat: float
    lon: float
    state: str
    climate: str
    temperature_c: float
    rain_mm: float
    sea_km: float
    salted: bool | None


def find_place(given: str | tuple[float, float], tables: Tables, *, where: str = "") -> Place:
    """The place meant by a postal code ("48201"), a town and state ("Detroit, MI") or coordinates in degrees.

    given : text, or (latitude, longitude); a text with two numbers is read as coordinates.   where : for messages.
    Raises BadInput naming the nearest known place, or what to give instead.

    >>> from weldworth.tables.load import load_tables
    >>> find_place("48201", load_tables()).name
    'Detroit, MI 48201'
    """
    if not isinstance(given, str):
        return _at(given[0], given[1], tables, where)
    text = " ".join(given.split())
    if not text:
        raise BadInput([Problem(where, "the place is empty; give a postal code, a town and state, or latitude and longitude")])
    pair = re.fullmatch(r"([-+]?\d+(?:\.\d*)?)\s*[,; ]\s*([-+]?\d+(?:\.\d*)?)", text)
    if pair:
        return _at(float(pair[1]), float(pair[2]), tables, where)
    by = _by_code if re.fullmatch(r"\d+(-\d{4})?", text) else _by_name
    return tables.once(("place", text), lambda: by(text, tables, where))


def _towns(tables: Tables) -> Towns:
    return read_towns(tables.path("places/towns.npz"))


def _climate(tables: Tables) -> Climate:
    return read_climate(tables.path("places/climate.npz"))


def _states(tables: Tables) -> dict[str, tuple[str, bool]]:
    """Two letters -> (name, roads salted in winter)."""
    rows = tables.rows("exposure_states.csv", ("state", "name", "salted"))
    return {row.text("state"): (row.text("name"), row.text("salted") == "yes") for row in rows}


def _island(warmth: float, rain: float) -> str:
    """A class for an island too small for the climate map, from its yearly mean and rain; the sea keeps the year even (guess)."""
    if warmth >= 22:
        return "Aw"
    if warmth >= 14 and rain < 800:
        return "Csa"
    return "Cfb" if warmth >= 4 else "ET"


def _town(row: int, name: str, tables: Tables) -> Place:
    towns = _towns(tables)
    lat, lon, state = float(towns.lat[row]), float(towns.lon[row]), towns.state[row]
    _, warmth, rain = _climate(tables).at(lat, lon)
    climate = towns.climate[row] if towns.climate[row] != "sea" else _island(warmth, rain)
    salted = _states(tables)[state][1]
    return Place(name, lat, lon, state, climate, warmth, rain, float(towns.sea_km[row]), salted)


def _by_code(text: str, tables: Tables, where: str) -> Place:
    towns = _towns(tables)
    digits = text.split("-")[0]
    if len(digits) != 5:
        raise BadInput([Problem(where, f"postal code {text!r} has {len(digits)} digits; give all five, with leading zeros")])
    row = int(np.searchsorted(towns.code, int(digits)))
    if row < len(towns.code) and int(towns.code[row]) == int(digits):
        return _town(row, f"{towns.name[row]}, {towns.state[row]} {digits}", tables)
    around = [i for i in (row - 1, row) if 0 <= i < len(towns.code)]
    best = min(around, key=lambda i: abs(int(towns.code[i]) - int(digits)))
    near = f"{int(towns.code[best]):05d} ({towns.name[best]}, {towns.state[best]})"
    raise BadInput(
        [
            Problem(
                where,
                f"postal code {digits!r} is not known here; nearest: {near}; or give a town and state, or latitude and longitude",
            )
        ]
    )


def _state_of(text: str, tables: Tables) -> tuple[str, str] | None:
    """(town, two letters) of "Town, ST", "Town ST" or "Town, State"; letters are "" when the state is not known."""
    states = _states(tables)
    letters = {plain_name(name): state for state, (name, _) in states.items()} | {state.casefold(): state for state in states}
    town, comma, state = text.rpartition(",")
    if comma:
        return town.strip(), letters.get(plain_name(re.sub(r"\s*\d{5}(-\d{4})?$", "", state)), "")
    words = text.split()
    for last in (3, 2, 1):
        found = letters.get(plain_name(" ".join(words[-last:])))
        if found and len(words) > last:
            return " ".join(words[:-last]), found
    return None


def _by_name(text: str, tables: Tables, where: str) -> Place:
    towns, states = _towns(tables), _states(tables)
    split = _state_of(text, tables)
    if split is None:
        raise BadInput([Problem(where, _without_state(text, towns, states))])
    town, state = split
    if not state:
        known = [letters for letters in states] + [name for name, _ in states.values()]
        told = unknown("state", text.rpartition(",")[2].strip(), known)
        raise BadInput([Problem(where, f"place {text!r}: {told}; {BY_COORDINATES}")])
    rows = towns.by_name.get(state, {}).get(plain_name(town))
    if rows is None:
        best = nearest(plain_name(town), towns.by_name.get(state, {}))
        near = f"; nearest: {best.title()!r}" if best else ""
        raise BadInput(
            [
                Problem(
                    where,
                    f"town {town!r} is not known in {states[state][0]}{near}; or give its postal code, or latitude and longitude",
                )
            ]
        )
    row = towns.middle(rows)
    return _town(row, f"{town}, {state}", tables)


def _without_state(text: str, towns: Towns, states: dict[str, tuple[str, bool]]) -> str:
    """The sentence for a town without a state, with the state that has most postal codes under that name."""
    key = plain_name(text)
    named = [letters for letters, (name, _) in states.items() if key in (letters.casefold(), plain_name(name))]
    if named:
        return f"place {text!r} is a whole state; give a town in it, such as 'Town, {named[0]}', or a postal code"
    have = {state: len(names[key]) for state, names in towns.by_name.items() if key in names}
    if have:
        best = max(sorted(have), key=lambda state: have[state])
        return f"place {text!r} has no state; give it too, such as '{text}, {best}', or a postal code"
    return f"place {text!r} is not known here; give a postal code or a town and state such as 'Detroit, MI'; {BY_COORDINATES}"


def _at(lat: float, lon: float, tables: Tables, where: str) -> Place:
    problems = []
    if not (isfinite(lat) and -90 <= lat <= 90):
        problems.append(Problem(where, f"latitude {lat:g} is outside -90..90; give degrees north, south negative"))
    if not (isfinite(lon) and -180 <= lon <= 180):
        problems.append(Problem(where, f"longitude {lon:g} is outside -180..180; give degrees east, west negative"))
    if problems:
        raise BadInput(problems)
    climate, warmth, rain = _climate(tables).at(lat, lon)
    sea_km = round(read_coast(tables.path("places/coast.npz")).distance_km(lat, lon), 1)
    limits = constants(tables)
    if climate == "sea":
        if sea_km > limits["island_km"]:
            raise BadInput(
                [Problem(where, f"{lat:g}, {lon:g} lies in open sea; check the signs: north and east positive, west negative")]
            )
        climate = _island(warmth, rain)
    towns = _towns(tables)
    away = distance_km(lat, lon, towns.lat, towns.lon)
    row = int(np.argmin(away))
    name = f"{abs(lat):.2f} {'N' if lat >= 0 else 'S'}, {abs(lon):.2f} {'E' if lon >= 0 else 'W'}"
    if away[row] <= limits["town_km"]:
        state = towns.state[row]
        near = f"{name} (near {towns.name[row]}, {state})"
        return Place(near, lat, lon, state, climate, warmth, rain, sea_km, _states(tables)[state][1])
    salted = None if warmth < limits["salted_below_c"] else False
    return Place(name, lat, lon, "", climate, warmth, rain, sea_km, salted)
