"""The pictures of a candidate as pages show them: what their files tell, what is odd about them, which zones they show."""

from __future__ import annotations

import logging
import threading
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import cast

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.evidence.likenesses import WITHIN
from weldworth.picture.alike import Print, likeness, print_of
from weldworth.picture.decode import decode
from weldworth.picture.doubts import date_remarks, software_remarks
from weldworth.picture.facts import Picture
from weldworth.picture.folder import PictureFolder
from weldworth.picture.intake import known_pictures
from weldworth.picture.limits import limits
from weldworth.tables import Tables
from weldworth.vehicle.plan import Plan, Zone
from weldworth.vehicle.plan_keys import STATIONS
from weldworth.workbench.desk import Desk
from weldworth.workbench.lines import CandidateView, PictureLine

log = logging.getLogger("weldworth.web")
MOST_PAIRS = 200_000


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


def shown_pictures(desk: Desk, view: CandidateView, plan: Plan) -> tuple[list[Shown], bool]:
    """Every picture, and whether some are still being compared with each other."""
    folder, tables = folder_of(desk), desk.tables()
    files = known_pictures({one.sha256: one.name for one in view.pictures}, folder, tables=tables)
    read = {sha256: file for sha256, file in files.items() if isinstance(file, Picture)}
    alike, waiting = _comparing.told(folder, {sha256: file.name for sha256, file in read.items()}, tables)
    elsewhere: dict[str, list[str]] = {}
    for remark in desk.alike_elsewhere(view.id):
        elsewhere.setdefault(remark.about, []).append(remark.text)
    return [
        _shown(
            one,
            files[one.sha256],
            [*alike.get(one.sha256, ()), *elsewhere.get(one.name, ())],
            zones_of(view, plan, one),
            desk,
        )
        for one in view.pictures
    ], waiting


def zones_of(view: CandidateView, plan: Plan, one: PictureLine) -> list[Zone]:
    """The zones that a picture shows: those it was put on, then those that findings on it name."""
    found = [str(e.body.get("zone")) for e in view.standing if e.kind == "finding" and e.body.get("picture") == one.name]
    return [plan.zone(zone) for zone in dict.fromkeys((*one.zones, *found)) if zone in plan.index]


def _shown(line: PictureLine, found: Picture | Problem, alike: Sequence[str], zones: Sequence[Zone], desk: Desk) -> Shown:
    file = found if isinstance(found, Picture) else None
    trouble = found.text if isinstance(found, Problem) else ""
    return Shown(
        line=line,
        zones=tuple((zone.id, zone.label) for zone in zones),
        stations=frozenset(zone.station for zone in zones),
        file=file,
        trouble=sentence(trouble),
        remarks=tuple(sentence(text) for text in [*(_doubts(file, line, desk) if file else ()), *alike]),
    )


def _doubts(file: Picture, line: PictureLine, desk: Desk) -> list[str]:
    """What the file's own record says against what was told; what its name is said to be is the trader's own business."""
    said, day = line.facts.get("taken_on"), None
    if isinstance(said, str) and len(said) == 10:
        day = date.fromisoformat(said)
    captures = {file.name: file.capture}
    odd = [remark for remark in file.remarks if remark.code != "mislabelled"]
    odd += date_remarks(captures, today=desk.clock.today(), said=day)
    return [remark.text for remark in (*odd, *software_remarks(captures, desk.tables()))]


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


class Comparing:
    """Pairs of pictures compared in the background, each pair once; what is known so far is told at once."""

    def __init__(self) -> None:
        self._kinds: dict[tuple[str, str], str] = {}
        self._under_way: set[tuple[str, str]] = set()
        self._lock = threading.Lock()
        self._pool = ThreadPoolExecutor(1, "comparing")

    def told(self, folder: PictureFolder, names: Mapping[str, str], tables: Tables) -> tuple[dict[str, tuple[str, ...]], bool]:
        """SHA-256 -> what is said of it: the first earlier picture that it repeats. And whether some pairs are still open."""
        pairs = list(combinations(names, 2))
        with self._lock:
            known = {pair: self._kinds[pair] for pair in pairs if pair in self._kinds}
            fresh = [pair for pair in pairs if pair not in known and pair not in self._under_way]
            self._under_way.update(fresh)
        if fresh:
            self._pool.submit(self._compare, folder, fresh, tables)
        found: dict[str, tuple[str, ...]] = {}
        for earlier, later in pairs:
            words = WITHIN.get(known.get((earlier, later), ""))
            if words is not None:
                found.setdefault(later, (words.format(other=names[earlier]),))
        return found, len(known) < len(pairs)

    def _compare(self, folder: PictureFolder, pairs: Iterable[tuple[str, str]], tables: Tables) -> None:
        prints: dict[str, Print | None] = {}
        for pair in pairs:
            kind = ""
            try:
                one, other = (self._print(folder, sha256, prints, tables) for sha256 in pair)
                found = likeness(one, other) if one is not None and other is not None else None
                kind = found.kind if found is not None else ""
            except Exception:  # one odd pair must not leave all others waiting
                log.exception("comparing %s", pair)
            with self._lock:
                if len(self._kinds) >= MOST_PAIRS:
                    self._kinds.clear()
                self._kinds[pair] = kind
                self._under_way.discard(pair)

    @staticmethod
    def _print(folder: PictureFolder, sha256: str, prints: dict[str, Print | None], tables: Tables) -> Print | None:
        if sha256 not in prints:
            try:
                data = folder.get(sha256, "preview")
                prints[sha256] = print_of(decode(data, "JPEG", sha256, limits(tables)).pixels)
            except (BadInput, NotFound):
                prints[sha256] = None
        return prints[sha256]


_comparing = Comparing()
