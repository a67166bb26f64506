"""Which pictures of the grid are shown, the way back to them, and the zones that one chooses from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from weldworth.vehicle.plan import Plan
from weldworth.web.forms import Posted
from weldworth.web.picture_lines import Shown, last_zone, next_zone, walk
from weldworth.web.undoing import done_by
from weldworth.workbench.ledger import Entry
from weldworth.workbench.lines import CandidateView
from weldworth.workbench.ports import Person

SHOWS = (("", "All"), ("bare", "On no zone yet"), ("poor", "Poor"), ("odd", "With remarks"))
AT = "at "


@dataclass(frozen=True, slots=True)
class Filter:
    """Which pictures of the grid are shown. show : key of SHOWS. zone : id of a zone, or "at " and a station; "" for all."""

    show: str = ""
    zone: str = ""

    def takes(self, one: Shown) -> bool:
        """Whether a picture is shown."""
        kinds = {"bare": not one.zones, "poor": one.poor, "odd": bool(one.remarks)}
        if not kinds.get(self.show, True):
            return False
        if self.zone.startswith(AT):
            return self.zone.removeprefix(AT) in one.stations
        return not self.zone or self.zone in dict(one.zones)

    @property
    def query(self) -> str:
        """As it stands in an address, "?" included where there is anything."""
        given = {key: value for key, value in (("show", self.show), ("zone", self.zone)) if value}
        return "?" + urlencode(given) if given else ""


def zone_words(view: CandidateView, plan: Plan, person: Person) -> dict[str, object]:
    """What a page needs to let one choose a zone."""
    last = last_zone(view, plan, person.id)
    return {"walk": walk(plan), "last": last, "next": next_zone(view, plan, last)}


def back_to(id: str, posted: Posted, entries: Sequence[Entry]) -> str:
    """The page from which something was posted: one picture, or the grid with its filter."""
    wanted, large = Filter(posted.text("from_show"), posted.text("from_zone")), posted.text("large")
    address = f"/c/{id}/pictures{'/' + large if large else ''}{wanted.query}"
    return address + (("&" if wanted.query else "?") + done_by(entries) if entries else "")
