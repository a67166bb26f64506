"""The shipped place data, read once: US towns, climate anywhere, the coast. Made by tools/build_places.py."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

EARTH_KM = 6371.0088
"""Mean radius of the earth, km (IUGG)."""

_LONG = {
    "st": "saint",
    "ste": "sainte",
    "ft": "fort",
    "mt": "mount",
    "hts": "heights",
    "spgs": "springs",
    "n": "north",
    "s": "south",
}


def plain_name(name: str) -> str:
    """A town's name for comparing: lower case, no punctuation, the usual short forms written out.

    >>> plain_name("St. Clair"), plain_name("Mt Pleasant")
    ('saint clair', 'mount pleasant')
    """
    words = re.sub(r"[^a-z0-9 ]", "", name.casefold().replace("-", " ")).split()
    return " ".join(_LONG.get(word, word) for word in words)


def distance_km(lat: float, lon: float, lats: NDArray[np.float64], lons: NDArray[np.float64]) -> NDArray[np.float64]:
    """Great-circle distance from one point to many, km, on a sphere of the earth's mean radius; off by 0.5 % at most."""
    p, q = np.radians(lat), np.radians(lats)
    half = np.sin((q - p) / 2) ** 2 + np.cos(p) * np.cos(q) * np.sin(np.radians(lons - lon) / 2) ** 2
    return np.asarray(2 * EARTH_KM * np.arcsin(np.sqrt(np.minimum(half, 1.0))))


@dataclass(frozen=True)
class Towns:
    """One row per US postal code, rising by code.

    code : number of the postal code. lat, lon : degrees. sea_km : distance to the sea, km. state, name, climate : words.
    street : False for boxes and single big receivers. others : (row, further name of its town).
    """

    code: NDArray[np.uint32]
    lat: NDArray[np.float64]
    lon: NDArray[np.float64]
    sea_km: NDArray[np.float64]
    state: list[str]
    name: list[str]
    climate: list[str]
    street: NDArray[np.bool_]
    others: list[tuple[int, str]]

    @cached_property
    def by_name(self) -> dict[str, dict[str, list[int]]]:
        """State -> plain name of a town -> its rows."""
        found: dict[str, dict[str, list[int]]] = {}
        for row, (state, name) in enumerate(zip(self.state, self.name, strict=True)):
            found.setdefault(state, {}).setdefault(plain_name(name), []).append(row)
        own = {state: set(names) for state, names in found.items()}
        for row, name in self.others:
            key = plain_name(name)
            if key not in own[self.state[row]]:
                found[self.state[row]].setdefault(key, []).append(row)
        return found

    def middle(self, rows: list[int]) -> int:
        """The row nearest to the middle of `rows`, those where people live before boxes and big receivers."""
        lived = [row for row in rows if self.street[row]] or rows
        away = distance_km(float(np.mean(self.lat[lived])), float(np.mean(self.lon[lived])), self.lat[lived], self.lon[lived])
        return lived[int(np.argmin(away))]


@dataclass(frozen=True)
class Climate:
    """Koeppen-Geiger class of each 0.25 degree cell; mean temperature and rain of the year at each 0.25 degree point."""

    cells: NDArray[np.uint8]
    warmth: NDArray[np.int8]
    rain: NDArray[np.uint8]
    classes: list[str]

    def at(self, lat: float, lon: float) -> tuple[str, float, float]:
        """Class ("sea" over open water), mean temperature in degC and rain in mm a year at a point in degrees."""
        cell = self.cells[min(int((90 - lat) * 4), 719), int((lon + 180) * 4) % 1440]
        row, column = round((90 - lat) * 4), round((lon % 360) * 4) % 1440
        return self.classes[cell], float(self.warmth[row, column]) / 2, float(self.rain[row, column]) * 20


@dataclass(frozen=True)
class Coast:
    """Cells of 1/60 degree at the edge of open sea, from the north; lakes, inland seas, harbours and rivers are left out."""

    lat: NDArray[np.float64]
    lon: NDArray[np.float64]

    def distance_km(self, lat: float, lon: float) -> float:
        """Distance to the nearest of them, km; good to about 1.5 km."""
        band = 0.5
        first, last = np.searchsorted(-self.lat, [-(lat + band), -(lat - band)])
        if first < last:
            near = float(distance_km(lat, lon, self.lat[first:last], self.lon[first:last]).min())
            if near < np.radians(band) * EARTH_KM:
                return near
        return float(distance_km(lat, lon, self.lat, self.lon).min())


@lru_cache(maxsize=4)
def read_towns(path: Path) -> Towns:
    """Towns from towns.npz."""
    with np.load(path) as data:
        names = bytes(data["names"]).decode().split("\n")
        states, classes = data["states"].tolist(), data["classes"].tolist()
        return Towns(
            code=data["code"],
            lat=data["lat"] / 1000,
            lon=data["lon"] / 1000,
            sea_km=data["sea"] / 10,
            state=[states[i] for i in data["state"]],
            name=[names[i] for i in data["name"]],
            climate=[classes[i] for i in data["climate"]],
            street=data["street"],
            others=[(int(row), names[i]) for row, i in zip(data["other_row"], data["other_name"], strict=True)],
        )


@lru_cache(maxsize=4)
def read_climate(path: Path) -> Climate:
    """Climate from climate.npz."""
    with np.load(path) as data:
        return Climate(data["climate"], data["warmth"], data["rain"], data["classes"].tolist())


@lru_cache(maxsize=4)
def read_coast(path: Path) -> Coast:
    """The coast from coast.npz."""
    with np.load(path) as data:
        steps = data["step"].astype(np.int64)
        steps[data["far_at"]] = data["far_step"]
    cells = np.cumsum(steps)
    return Coast(lat=90 - (cells // 21600 + 0.5) / 60, lon=(cells % 21600 + 0.5) / 60 - 180)
