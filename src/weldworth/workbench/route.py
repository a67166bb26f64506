"""The way round a vehicle: what to look at in the time there is, and the shortest way from stop to stop.

The way keeps the order of the stations (outside, engine bay, inside, underneath), so that nobody lies down twice; within a
station the stops come in the order that is shortest. Which looks are worth their time and which way is shortest hang together
and are settled together, exactly, by dynamic programming over the stations and the time used up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise, permutations
from math import ceil

import numpy as np

from weldworth.belief.network import Array

STATIONS = ("outside", "engine bay", "inside", "underneath")
"""In the order in which they are walked: clean first, kneeling last."""
CELL = 5
"""Seconds: the grain of time; every look and every way is rounded up to it."""
CLEAR = 800.0
"""Millimetres between the vehicle and the one who walks round it."""


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground round a body. length, width : mm. stands : zone -> where one stands for it, mm from the middle of the vehicle,
    rearwards and to the left."""

    length: float = 4500.0
    width: float = 1800.0
    stands: Mapping[str, tuple[float, float]] = field(default_factory=dict)


ANYWHERE = Ground()
"""Where the body has no drawings: a vehicle of usual size."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A place to stand. at : mm from the middle of the vehicle, rearwards and to the left."""

    id: str
    station: str
    name: str
    at: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Look:
    """One thing to look at. seconds : it takes. worth : in whatever is to be made most of; never below 0."""

    zone: str
    stop: str
    seconds: float
    worth: float


@dataclass(frozen=True, slots=True)
class Pace:
    """How long the way takes, seconds. begin : before anything. settle : at each stop. station : coming to it."""

    begin: float
    settle: float
    metre: float
    station: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Route:
    """The stops in order, each with its looks. seconds : all of it, from the beginning. worth : of the looks."""

    stops: tuple[tuple[Stop, tuple[Look, ...]], ...]
    seconds: int
    worth: float


def way_round(ground: Ground, a: tuple[float, float], b: tuple[float, float]) -> float:
    """Millimetres to walk from a to b: nobody walks through the vehicle, but along the rectangle CLEAR outside it.

    >>> way_round(Ground(4000, 2000), (-2000, 0), (2000, 0))
    9200.0
    """
    half_x, half_y = ground.length / 2 + CLEAR, ground.width / 2 + CLEAR
    whole = 4 * (half_x + half_y)
    apart = abs(_along(a, half_x, half_y) - _along(b, half_x, half_y))
    return min(apart, whole - apart)


def _along(at: tuple[float, float], half_x: float, half_y: float) -> float:
    """Where a place lies on the rectangle when looked at from its middle, mm from the front's middle by the left side."""
    x, y = at
    reach = max(abs(x) / half_x, abs(y) / half_y)
    x, y = (x / reach, y / reach) if reach else (-half_x, 0.0)
    if x <= -half_x:
        return y % (4 * (half_x + half_y))
    if y >= half_y:
        return half_y + half_x + x
    if x >= half_x:
        return half_y + 2 * half_x + (half_y - y)
    return half_y + 2 * half_x + 2 * half_y + (half_x - x)


def seconds_between(ground: Ground, pace: Pace, before: Stop | None, then: Stop) -> int:
    """From one stop to the next, with coming to its station and settling there; whole CELLs."""
    walk = 0.0 if before is None else way_round(ground, before.at, then.at) / 1000 * pace.metre
    station = pace.station[then.station] if before is None or before.station != then.station else 0.0
    return _cells(walk + station + pace.settle) * CELL


def best_route(stops: Sequence[Stop], looks: Sequence[Look], ground: Ground, pace: Pace, minutes: float) -> Route:
    """The looks worth most together that fit into `minutes`, and the shortest way to them; of equals the shorter.

    Exact for the rounded times: no other choice of looks and way that keeps the order of the stations is worth more, and more
    minutes are never worth less. Every order of the stops of a station is tried, so give a station no more than seven.
    """
    cells = max(0, int((minutes * 60 - _cells(pace.begin) * CELL) // CELL))
    items: dict[str, list[Look]] = {}
    for look in looks:
        items.setdefault(look.stop, []).append(look)
    reached: dict[Stop | None, Array] = {None: np.zeros(cells + 1)}
    levels = []
    for station in STATIONS:
        here = [stop for stop in stops if stop.station == station and stop.id in items]
        levels.append(_Station(here, items, ground, pace, reached))
        reached = levels[-1].reached
    at = max(reached, key=lambda stop: (reached[stop][-1], -np.argmax(reached[stop] == reached[stop][-1])))
    time = int(np.argmax(reached[at] == reached[at][-1]))
    way: list[tuple[Stop, tuple[Look, ...]]] = []
    for level in reversed(levels):
        part, at, time = level.trace(at, time)
        way = [(stop, chosen) for stop, chosen in part if chosen] + way
    return Route(tuple(way), duration(way, ground, pace), sum(look.worth for _, chosen in way for look in chosen))


def duration(stops: Sequence[tuple[Stop, Sequence[Look]]], ground: Ground, pace: Pace) -> int:
    """Seconds that a way with its looks takes, from the beginning."""
    total, before = _cells(pace.begin) * CELL, None
    for stop, looks in stops:
        total += seconds_between(ground, pace, before, stop) + sum(_cells(look.seconds) * CELL for look in looks)
        before = stop
    return total


def _cells(seconds: float) -> int:
    return ceil(seconds / CELL - 1e-9)


def _later(worth: Array, cells: int) -> Array:
    """The same worth, reached so many cells later."""
    if cells == 0:
        return worth
    out = np.full_like(worth, -np.inf)
    if cells < len(worth):
        out[cells:] = worth[:-cells]
    return out


class _Station:
    """The most that can be had by each time, once a station has been walked or passed by.

    before : last stop stood at (None: none yet) -> worth by time before this station, (cells + 1,). reached : the same after it.
    """

    def __init__(
        self,
        here: Sequence[Stop],
        items: Mapping[str, Sequence[Look]],
        ground: Ground,
        pace: Pace,
        before: Mapping[Stop | None, Array],
    ) -> None:
        self.items, self.before = items, before
        self.cost = {(a, b): seconds_between(ground, pace, a, b) // CELL for a in (*before, *here) for b in here if a != b}
        self.ways = self._ways(here)
        self.entered = {
            stop: np.max([_later(worth, self.cost[last, stop]) for last, worth in before.items()], axis=0) for stop in here
        }
        self.worth = {ending: self._layers(*ending)[-1] for ending in self.ways}
        self.reached = dict(before)
        for stop in here:
            self.reached[stop] = np.max([worth for (_, last), worth in self.worth.items() if last == stop], axis=0)

    def _ways(self, here: Sequence[Stop]) -> dict[tuple[frozenset[Stop], Stop], list[tuple[int, tuple[Stop, ...]]]]:
        """Stops visited and the last of them -> the shortest way from each first stop, with its cells; few stops come first."""
        ways: dict[tuple[frozenset[Stop], Stop], list[tuple[int, tuple[Stop, ...]]]] = {}
        for size in range(1, len(here) + 1):
            for visited in combinations(here, size):
                shortest: dict[tuple[Stop, Stop], tuple[int, tuple[Stop, ...]]] = {}
                for way in permutations(visited):
                    cells = sum(self.cost[leg] for leg in pairwise(way))
                    if cells < shortest.get((way[0], way[-1]), (cells + 1, way))[0]:
                        shortest[way[0], way[-1]] = (cells, way)
                for (_, last), found in shortest.items():
                    ways.setdefault((frozenset(visited), last), []).append(found)
        return ways

    def _looks(self, visited: frozenset[Stop]) -> list[Look]:
        return [look for stop in sorted(visited, key=lambda one: one.id) for look in self.items[stop.id]]

    def _layers(self, visited: frozenset[Stop], last: Stop) -> list[Array]:
        """The worth by time on the ways through `visited` to `last`, with none, one, two, ... of its looks considered."""
        found = [np.max([_later(self.entered[way[0]], cells) for cells, way in self.ways[visited, last]], axis=0)]
        for look in self._looks(visited):
            found.append(np.maximum(found[-1], _later(found[-1], _cells(look.seconds)) + look.worth))
        return found

    def trace(self, at: Stop | None, time: int) -> tuple[list[tuple[Stop, tuple[Look, ...]]], Stop | None, int]:
        """How the worth at `at` and `time` came about here, and the stop and time before it."""
        endings = [(ending, worth) for ending, worth in self.worth.items() if ending[1] == at]
        if at is None or not endings:
            return [], at, time
        visited = next(visited for (visited, _), worth in endings if worth[time] == self.reached[at][time])
        layers, taken = self._layers(visited, at), set()
        for look, (less, more) in reversed(list(zip(self._looks(visited), pairwise(layers), strict=True))):
            if more[time] > less[time]:
                taken.add(look)
                time -= _cells(look.seconds)
        cells, way = next(
            (cells, way) for cells, way in self.ways[visited, at] if _later(self.entered[way[0]], cells)[time] == layers[0][time]
        )
        time -= cells
        entered, first = self.entered[way[0]][time], way[0]
        last = next(last for last, worth in self.before.items() if _later(worth, self.cost[last, first])[time] == entered)
        part = [(stop, tuple(look for look in self.items[stop.id] if look in taken)) for stop in way]
        return part, last, time - self.cost[last, first]
