"""Planning a walk: which zones to look at in the minutes there are, by what looking is worth, and the way from stop to stop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot

from weldworth.asks.rank import PROBE, UNDERNEATH
from weldworth.core.errors import BadInput, Problem
from weldworth.tables.load import Row, Tables
from weldworth.vehicle.plan import Plan, Zone
from weldworth.workbench.route import STATIONS, Ground, Look, Pace, Stop, best_route

MINUTES = (15, 40, 90)
"""What the page offers."""
SHORTEST, LONGEST = 5, 240
LEAST_SHARE = 1e-4
"""What tells nothing is still looked at where there is time for it."""
ON_A_LIFT = ("own-lift", "inspector-lift")
NO_HAMMER = "No tapping or scraping at fuel tanks, fuel and brake lines, or springs under load."
LIFT = "Stay out from under the vehicle until the lift is locked; those who run it say when."


@dataclass(frozen=True, slots=True)
class Walker:
    """Who walks. id : the source of the findings. reach : the access up to which the walker gets at a zone."""

    id: str
    name: str
    reach: int


@dataclass(frozen=True, slots=True)
class WalkStop:
    """One stop of a walk. zones : to look at, in order. places : where something is measured that is no metal.

    first : the zones among them that usually rust first of their group. caution : what to mind here, or "".
    """

    id: str
    station: str
    name: str
    zones: tuple[str, ...]
    places: tuple[str, ...]
    first: tuple[str, ...]
    caution: str
    seconds: int


@dataclass(frozen=True, slots=True)
class WalkPlan:
    """A walk as planned. seconds : all of it. worth : what the looks on it are worth, money; None while no money is known.

    share : their part of what is worth (or unsure) in reach at all, 0..1. left_out : zones in reach that there is no time for.
    """

    walker: Walker
    minutes: int
    stops: tuple[WalkStop, ...]
    seconds: int
    worth: float | None
    share: float
    left_out: tuple[str, ...]
    currency: str = ""


def walkers(tables: Tables) -> dict[str, Walker]:
    """Who may walk, by the source of their findings."""
    rows = tables.rows("walkers.csv", ("observer", "reach", "name"))
    return {
        row.text("observer"): Walker(row.text("observer"), row.text("name"), int(row.number("reach", low=1, high=5)))
        for row in rows
    }


def plan_walk(
    plan: Plan,
    shares: Mapping[str, float],
    together: float | None,
    walker: Walker,
    minutes: int,
    ground: Ground,
    tables: Tables,
    currency: str = "",
) -> WalkPlan:
    """The walk worth most in `minutes`.

    shares : zone -> its share of what all zones in reach are worth, see `asks.walk`. together : that worth, money, or None.
    """
    if not SHORTEST <= minutes <= LONGEST:
        raise BadInput([Problem("minutes", f"minutes is {minutes}; give {SHORTEST} to {LONGEST}")])
    stops, pace, per_look = stops_of(tables, ground), pace_of(tables), _seconds_by_access(tables)
    at = {zone.id: stop_for(zone, stops, ground) for zone in plan.zones if zone.id in shares}
    looks = [
        Look(id, at[id].id, per_look[plan.zone(id).access], max(share, LEAST_SHARE))
        for id, share in shares.items()
        if plan.zone(id).access in per_look
    ]
    route = best_route(stops, looks, ground, pace, minutes)
    seen = {look.zone for _, chosen in route.stops for look in chosen}
    share = sum(share for id, share in shares.items() if id in seen)
    return WalkPlan(
        walker=walker,
        minutes=minutes,
        stops=_with_places(plan, tuple(_stop(plan, stop, chosen, walker) for stop, chosen in route.stops)),
        seconds=route.seconds,
        worth=None if together is None else together * share,
        share=share,
        left_out=tuple(look.zone for look in looks if look.zone not in seen),
        currency=currency,
    )


def stops_of(tables: Tables, ground: Ground) -> list[Stop]:
    """The stops round a body of this size, from walk_stops.csv."""
    return [
        Stop(
            row.text("stop"),
            row.text("station"),
            row.text("name"),
            ((row.number("along", low=0, high=1) - 0.5) * ground.length, row.number("across", low=-0.5, high=0.5) * ground.width),
        )
        for row in tables.rows("walk_stops.csv", ("stop", "station", "name", "along", "across"))
    ]


def pace_of(tables: Tables) -> Pace:
    """How long the way takes, from walk_times.csv; raises BadInput naming a row that is missing."""
    rows = {row.text("name"): row.number("seconds", low=0, high=3600) for row in _times(tables) if not row.text("access")}
    wanted = ("begin", "settle", "metre", *STATIONS)
    missing = [Problem("walk_times.csv", f"row {name!r} is missing") for name in wanted if name not in rows]
    if missing:
        raise BadInput(missing)
    return Pace(rows["begin"], rows["settle"], rows["metre"], {station: rows[station] for station in STATIONS})


def _seconds_by_access(tables: Tables) -> dict[int, float]:
    """How long a look takes; an access that has no row is not looked at on a walk."""
    return {int(row.number("access")): row.number("seconds", low=1, high=3600) for row in _times(tables) if row.text("access")}


def _times(tables: Tables) -> list[Row]:
    return tables.rows("walk_times.csv", ("name", "access", "seconds", "meaning"))


def stop_for(zone: Zone, stops: Sequence[Stop], ground: Ground) -> Stop:
    """The stop of the zone's station that is nearest to where one stands for it, on its own side of the vehicle."""
    usual = {"l": ground.width / 2, "r": -ground.width / 2, "": 0.0}[zone.side]
    x, y = ground.stands.get(zone.id, (0.0, usual))
    here = [stop for stop in stops if stop.station == zone.station]
    own = [stop for stop in here if stop.at[1] * usual >= 0]
    return min(own or here, key=lambda stop: (hypot(stop.at[0] - x, stop.at[1] - y), stop.id))


def _stop(plan: Plan, stop: Stop, looks: Sequence[Look], walker: Walker) -> WalkStop:
    """Its zones in order: those that rust first of their group, then by worth per second."""
    kinds = {sentinel.zone for sentinel in plan.sentinels}
    first = {look.zone for look in looks if look.zone in kinds or plan.zone(look.zone).kind in kinds}
    order = sorted(looks, key=lambda look: (look.zone not in first, -look.worth / look.seconds, look.zone))
    return WalkStop(
        id=stop.id,
        station=stop.station,
        name=stop.name,
        zones=tuple(look.zone for look in order),
        places=(),
        first=tuple(look.zone for look in order if look.zone in first),
        caution=_caution(stop.station, walker),
        seconds=round(sum(look.seconds for look in looks)),
    )


def _caution(station: str, walker: Walker) -> str:
    if station != "underneath":
        return PROBE
    return f"{LIFT} {PROBE} {NO_HAMMER}" if walker.id in ON_A_LIFT else f"{UNDERNEATH} {PROBE} {NO_HAMMER}"


def _with_places(plan: Plan, stops: Sequence[WalkStop]) -> tuple[WalkStop, ...]:
    """Each place that is measured goes to the first stop outside on its own side."""
    found = list(stops)
    for place in plan.places:
        side = {"l": "left", "r": "right"}.get(place.id.rpartition(".")[2], "")
        at = next((i for i, stop in enumerate(found) if stop.station == "outside" and stop.id.endswith(side)), None)
        if at is not None:
            found[at] = replace(found[at], places=(*found[at].places, place.id))
    return tuple(found)
