"""The pictures of a candidate as pages show them: what their files tell, what is odd about them, which zones they show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import cast

from weldworth.core.errors import NotFound, Problem
from weldworth.picture.facts import Picture
from weldworth.picture.folder import PictureFolder
from weldworth.picture.intake import known_pictures
from weldworth.vehicle.plan import Plan, Zone
from weldworth.vehicle.plan_keys import STATIONS
from weldworth.workbench.desk import Desk
from weldworth.workbench.doubts import remarks_on
from weldworth.workbench.held import Held
from weldworth.workbench.lines import CandidateView, PictureLine

TOLD_APART = ("picture-unread", "picture-poor")
_held: Held[dict[str, list[str]]] = Held(64)


@dataclass(frozen=True, slots=True)
class Shown:
    """One picture.

    zones : (id, trade name) of each it shows, those of findings on it included. file : what its file tells.
    trouble : why it cannot be read.
    """

    line: PictureLine
    zones: tuple[tuple[str, str], ...]
    stations: frozenset[str]
    file: Picture | None
    trouble: str
    remarks: tuple[str, ...]

    @property
    def poor(self) -> bool:
        """Whether it would have to be taken again to show its metal well."""
        return bool(self.trouble) or (self.file is not None and bool(self.file.verdict.faults))

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels, upright; (0, 0) where the file cannot be read."""
        return (self.file.width, self.file.height) if self.file is not None else (0, 0)

    @property
    def taken_on(self) -> date | None:
        """The day on which it was taken: as recorded, else by the camera's clock."""
        said = self.line.facts.get("taken_on")
        if isinstance(said, str) and len(said) == 10:
            return date.fromisoformat(said)
        taken = self.file.capture.taken_at if self.file is not None else None
        return taken.date() if taken is not None else None


def picture_of(view: CandidateView, sha256: str) -> PictureLine:
    """The picture with this hash; raises NotFound."""
    found = next((one for one in view.pictures if one.sha256 == sha256), None)
    if found is None:
        raise NotFound("there is no such picture in this candidate")
    return found


def folder_of(desk: Desk) -> PictureFolder:
    """The picture folder as the picture work knows it."""
    return cast(PictureFolder, desk.pictures)


def shown_pictures(desk: Desk, view: CandidateView, plan: Plan) -> list[Shown]:
    """Every picture, in the order in which they came."""
    files = known_pictures({one.sha256: one.name for one in view.pictures}, folder_of(desk), tables=desk.tables())
    odd = {name: list(texts) for name, texts in _remarks(desk, view.id, plan).items()}
    for remark in desk.told_elsewhere(view.id, desk.waits):
        odd.setdefault(remark.about, []).append(remark.text)
    return [_shown(one, files[one.sha256], odd.get(one.name, ()), zones_of(view, plan, one)) for one in view.pictures]


def _remarks(desk: Desk, id: str, plan: Plan) -> Mapping[str, Sequence[str]]:
    """Name -> what is odd about the picture; how good it is and whether it can be read is told apart."""
    basis, read, _ = desk.basis(id)

    def work() -> dict[str, list[str]]:
        dossier, labels = read(), {zone.id: zone.label for zone in plan.zones}
        found = {name: remarks_on(dossier, name, seen, basis.day, labels) for name, seen in dossier.seen.items()}
        return {name: [one.text for one in remarks if one.code not in TOLD_APART] for name, remarks in found.items()}

    return _held.get(basis.key, work)


def zones_of(view: CandidateView, plan: Plan, one: PictureLine) -> list[Zone]:
    """The zones that a picture shows: those it was put on, then those that findings on it name."""
    found = [str(e.body.get("zone")) for e in view.standing if e.kind == "finding" and e.body.get("picture") == one.name]
    return [plan.zone(zone) for zone in dict.fromkeys((*one.zones, *found)) if zone in plan.index]


def _shown(line: PictureLine, found: Picture | Problem, odd: Sequence[str], zones: Sequence[Zone]) -> Shown:
    file = found if isinstance(found, Picture) else None
    trouble = found.text if isinstance(found, Problem) else ""
    own = [remark.text for remark in file.remarks if remark.code != "mislabelled"] if file is not None else []
    return Shown(
        line=line,
        zones=tuple((zone.id, zone.label) for zone in zones),
        stations=frozenset(zone.station for zone in zones),
        file=file,
        trouble=sentence(trouble),
        remarks=tuple(sentence(text) for text in [*own, *odd]),
    )


def sentence(text: str) -> str:
    """With a capital and a full stop.

    >>> sentence("is dark; light it")
    'Is dark; light it.'
    """
    return text[:1].upper() + text[1:] + ("" if not text or text.endswith(".") else ".")


def walk(plan: Plan) -> list[tuple[str, tuple[Zone, ...]]]:
    """The zones by station, in the order in which one walks round."""
    return [(station, tuple(zone for zone in plan.zones if zone.station == station)) for station in STATIONS]


def last_zone(view: CandidateView, plan: Plan, person: str) -> Zone | None:
    """The zone on which this person last put a picture."""
    for entry in reversed(view.standing):
        if entry.kind == "picture" and entry.by == person and entry.replaces is not None:
            zones = [zone for zone in cast(Sequence[str], entry.facts.get("zones", ())) if zone in plan.index]
            if zones:
                return plan.zone(zones[-1])
    return None


def next_zone(view: CandidateView, plan: Plan, last: Zone | None) -> Zone | None:
    """The next zone on the walk that no picture shows yet; the first such one where there is no last."""
    order = [zone for _, zones in walk(plan) for zone in zones]
    start = order.index(last) + 1 if last is not None else 0
    covered = {zone for one in view.pictures for zone in zones_of(view, plan, one)}
    return next((zone for zone in (*order[start:], *order[:start]) if zone not in covered), None)
