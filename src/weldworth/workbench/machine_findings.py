"""What the machine makes of one picture: what it sees on each zone, and what became of what it suggests."""

from __future__ import annotations

from dataclasses import dataclass

from weldworth.core.errors import BadInput, Problem
from weldworth.evidence.pictures import Region
from weldworth.workbench.fields import listed
from weldworth.workbench.ports import Sight
from weldworth.workbench.sights import DISMISSED, SUGGESTED


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One sign that the machine suggests.

    meaning : the sign in words. probability : 0..1. measured_on : "photographs", or "synthetic pictures" where its reliability
    is known from those alone and it is weighed lightly. state : "suggested", "accepted", "overruled" (a person saw something
    else there) or "dismissed". seq : the entry of the finding that decided it, or None.
    """

    sign: str
    meaning: str
    probability: float
    measured_on: str
    state: str
    seq: int | None = None


@dataclass(frozen=True, slots=True)
class ZoneSight:
    """What the machine makes of one zone on a picture; zone "" is the whole picture.

    region : left, top, right, bottom in pixels of the upright picture, None where the zone was not marked. sight : quality,
    share of rust with its ISO 4628-3 and ASTM D610 grades, chance of rust; None where the region leaves the picture.
    """

    zone: str
    label: str
    region: Region | None
    sight: Sight | None
    suggestions: tuple[Suggestion, ...] = ()


@dataclass(frozen=True, slots=True)
class MachineFindings:
    """What the machine makes of one picture of a candidate.

    seq : of the picture's entry. source : how it came, as it is weighed; told : whether somebody said so. whole : the picture
    as a whole. zones : each zone that it shows, in the order given. remarks : doubts about the picture, one sentence each.
    problem : why nothing can be seen in it, else "".
    """

    sha256: str
    name: str
    seq: int
    model: str
    width: int
    height: int
    taken_on: str | None
    camera: str
    source: str
    told: bool
    whole: ZoneSight | None
    zones: tuple[ZoneSight, ...]
    remarks: tuple[str, ...]
    problem: str

    def suggesting(self, zone: str, sign: str) -> ZoneSight:
        """The zone's sight where the machine suggests this sign on it; raises BadInput with the field that is wrong."""
        if self.problem:
            raise BadInput([Problem("picture", f"{self.name} {self.problem}")])
        sights = {one.zone: one for one in (*self.zones, *([self.whole] if self.whole is not None else []))}
        if zone not in sights:
            known = [one for one in sights if one]
            remedy = listed(known) if known else "put the picture on the zone first"
            raise BadInput([Problem("zone", f"zone {zone!r} is not shown on {self.name}; {remedy}")])
        open_ = [one.sign for one in sights[zone].suggestions if one.state in (SUGGESTED, DISMISSED)]
        if sign not in [one.sign for one in sights[zone].suggestions]:
            remedy = listed(open_) if open_ else "nothing is; record a finding instead"
            raise BadInput([Problem("sign", f"sign {sign!r} is not suggested there; {remedy}")])
        return sights[zone]
