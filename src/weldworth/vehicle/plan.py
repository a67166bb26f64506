"""The body plan of one body construction, laid out for one vehicle: every zone on every side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown

SIDES = ("l", "r")


@dataclass(frozen=True, slots=True)
class Zone:
    """A piece of metal that can rust on its own, on one side of the vehicle.

    id : with .l / .r where the plan has it on both sides (left and right from the driver's seat, facing forward).
    kind : the id in the plan, without the side.
    side : "l", "r" or "" for the centre line.
    station : where one stands: outside, inside, underneath, engine bay.
    structural : yes, partly, no.
    thickness_mm : lowest and highest original sheet thickness, mm.
    vulnerability : chance per year of losing metal against a flat exposed outer panel, [-].
    cause : the cause group (table causes.csv) whose wetness it shares.
    family : zones of one family (a zone, its hidden layers, its twin) share a local effect.
    sheltered : a cavity or trap that does not dry, ages with the sheltered exponent.
    view : how much of the metal a lens sees when it looks at the zone: exposed, half, hidden; `seen` says it in words.
    inside : rusts from within, so that a clean outer face says little and holes and seams say much.
    photo_underneath : a picture of it wants the phone held under the vehicle; the ask must carry the caution.
    """

    id: str
    kind: str
    name: str
    side: str
    station: str
    structural: str
    thickness_mm: tuple[float, float]
    vulnerability: float
    cause: str
    family: str
    sheltered: bool
    view: str
    wetting: str
    tell: str
    uncover: str
    photo: str
    probe: str
    access: int
    basis: str
    inside: bool = False
    seen: str = ""
    structural_note: str = ""
    thickness_note: str = ""
    photo_underneath: bool = False

    @property
    def label(self) -> str:
        """The trade name with its side in words."""
        return self.name + {"l": ", left", "r": ", right", "": ""}[self.side]


@dataclass(frozen=True, slots=True)
class Relation:
    """Two zones of a plan that have to do with each other: hidden-under, water-path, front-rear, twin."""

    kind: str
    zone: str
    of: str
    strength: float | None
    note: str
    basis: str


@dataclass(frozen=True, slots=True)
class Tell:
    """Signs on a zone that speak of the metal hidden behind it, through row `row` of tells.csv."""

    zone: str
    signs: tuple[str, ...]
    hidden: str
    row: str


@dataclass(frozen=True, slots=True)
class Sentinel:
    """A zone that usually rusts first of its group: looked at before the others."""

    zone: str
    of: str
    note: str
    basis: str = "guess"


@dataclass(frozen=True, slots=True)
class ReadingPlace:
    """A place where something is measured that is not metal, such as the door gap; it tells of `hidden` zones."""

    id: str
    name: str
    kind: str
    hidden: tuple[str, ...]
    row: str
    photo: str
    note: str = ""
    basis: str = "guess"


@dataclass(frozen=True)
class Plan:
    """One body plan laid out for one vehicle (battery side, options fitted), zones in the plan's order."""

    body: str
    code: str
    name: str
    zones: tuple[Zone, ...]
    relations: tuple[Relation, ...]
    tells: tuple[Tell, ...]
    sentinels: tuple[Sentinel, ...]
    places: tuple[ReadingPlace, ...]
    battery_side: str
    options: Mapping[str, bool] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash((self.body, self.battery_side, tuple(self.options.items())))

    @cached_property
    def index(self) -> dict[str, int]:
        """Zone id to its place in `zones`."""
        return {zone.id: i for i, zone in enumerate(self.zones)}

    def zone(self, id: str) -> Zone:
        """The zone with this id; raises BadInput naming the nearest id when there is none."""
        if id not in self.index:
            raise BadInput([Problem("", unknown("zone", id, self.index))])
        return self.zones[self.index[id]]

    def twin(self, id: str) -> str | None:
        """The same zone on the other side, or None."""
        zone = self.zone(id)
        if not zone.side:
            return None
        other = f"{zone.kind}.{SIDES[1 - SIDES.index(zone.side)]}"
        return other if other in self.index else None
