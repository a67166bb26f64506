"""The desk's pictures: what the machine sees on them, and what people make of that."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date

from weldworth.belief.machine import trusts
from weldworth.belief.sight import lexicon
from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.core.remark import Remark
from weldworth.core.words import unknown
from weldworth.evidence.pictures import Region, Shown
from weldworth.evidence.records import Finding, standing
from weldworth.tables import Tables
from weldworth.vehicle.plans import load_plan
from weldworth.workbench import diary, taking
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.doubts import remarks_on
from weldworth.workbench.fold import OUTLINE, Gathered, dossier_of, gather
from weldworth.workbench.held import Held
from weldworth.workbench.keeping import entries_in, evidence_of
from weldworth.workbench.ledger import REPLACES, Entry
from weldworth.workbench.lines import CandidateView, PictureLine
from weldworth.workbench.machine_findings import MachineFindings, Suggestion, ZoneSight
from weldworth.workbench.people import People
from weldworth.workbench.ports import Clock, PictureFolder, PictureReader, Seen, Sight, Store
from weldworth.workbench.recorder import Recorder
from weldworth.workbench.shop import Shop
from weldworth.workbench.sights import look_at, sight_of, source_of, spoken_of, state_of, taken_on

HELD_VIEWS = 64
AT_ONCE = 8
"""So many pictures that were not looked at yet are looked at while a page is waited for, about a second; more are left to a quiet
moment."""
LOST = "has lost its original in the picture folder; take it in again"
Points = Sequence[Sequence[float]]


class Looker(Recorder):
    """The use cases about one candidate's pictures. eye : what looks at them; None where nothing does."""

    def __init__(
        self, store: Store, clock: Clock, people: People, shop: Shop, pictures: PictureFolder, eye: PictureReader | None
    ) -> None:
        super().__init__(store, clock, people, shop)
        self.pictures, self.eye = pictures, eye
        self._views: Held[CandidateView] = Held(HELD_VIEWS)
        self._shas: Held[tuple[str, ...]] = Held(HELD_VIEWS)
        self._late: Held[tuple[str, ...]] = Held(HELD_VIEWS)

    def candidate(self, id: str, upto: int | None = None) -> CandidateView:
        """Everything recorded, or what was when `upto` was the last entry. Raises NotFound."""
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        tables, today = self.tables(), self.clock.today()
        key = (entries[-1].hash, upto, tables.version, today)
        return self._views.get(key, lambda: diary.view(entries, upto, tables, today))

    def picture(self, id: str, sha256: str) -> PictureLine:
        """One picture of a candidate; raises NotFound."""
        return _picture_of(self.candidate(id), sha256)

    def add_picture(self, id: str, data: bytes, name: str, by: str, **facts: object) -> Entry:
        """Keep a picture and record it; the same picture again is the same entry. A taken name gets a number."""
        return self.record_picture(id, self.pictures.put(data), name, by, **facts)

    def record_picture(self, id: str, sha256: str, name: str, by: str, **facts: object) -> Entry:
        """Record a picture whose original the folder has already; otherwise as `add_picture`."""
        found = self.candidate(id)
        known = next((picture for picture in found.pictures if picture.sha256 == sha256), None)
        if known is not None:
            return next(entry for entry in found.entries if entry.seq == known.seq)
        free = taking.free_name(name, [picture.name for picture in found.pictures])
        return self.record(id, "picture", {**facts, "sha256": sha256, "name": free}, by)

    def describe_picture(self, id: str, sha256: str, said: Mapping[str, object], by: str, revision: int | None = None) -> Entry:
        """Say what a picture shows. said : keys of [[picture]] that change (zones, regions, source, taken_on, dismissed, note);
        null takes one away. Regions and dismissals of zones that it no longer shows go with them.

        Raises BadInput with the field of each problem, NotFound, or Changed.
        """
        line = self.picture(id, sha256)
        return self.correct(id, line.seq, described(line, said), by, revision)

    def machine_findings(self, id: str, sha256: str) -> MachineFindings:
        """What the machine makes of a picture, and what became of each of its suggestions. Raises NotFound, and BadInput where
        this desk looks at no pictures. Slow once for each picture and region (about a fifth of a second), then remembered.
        """
        view = self.candidate(id)
        line = _picture_of(view, sha256)
        shown = _shown(view, line)
        seen = self._see(line, tuple(shown.regions.values()))
        tables = self.tables()
        lex = lexicon(tables)
        labels = self._labels(view)
        findings = [record for record in standing(view.dossier.records) if isinstance(record, Finding)]

        def zone_sight(zone: str, sight: Sight | None) -> ZoneSight:
            spoken = spoken_of(findings, line.name, zone, {id: sign.kind for id, sign in lex.signs.items()})
            suggestions = []
            for sign, probability in sight.signs if sight is not None else ():
                state, finding = state_of(sign, zone, spoken, shown)
                on = "photographs" if trusts(tables)[sign].photographs else "synthetic pictures"
                seq = int(finding.where.rpartition(" ")[2]) if finding is not None else None
                suggestions.append(Suggestion(sign, lex.signs[sign].meaning, probability, on, state, seq))
            return ZoneSight(zone, labels.get(zone, zone), shown.regions.get(zone), sight, tuple(suggestions))

        today = self.clock.today()
        taken = taken_on(shown, seen, today)
        assert self.eye is not None
        return MachineFindings(
            sha256=sha256,
            name=line.name,
            seq=line.seq,
            model=self.eye.version,
            width=seen.width,
            height=seen.height,
            taken_on=taken.isoformat() if taken is not None else None,
            camera=seen.camera,
            source=source_of(shown, seen, today, lex.old["after_years"]),
            told=shown.source is not None,
            whole=zone_sight("", seen.whole) if seen.whole is not None else None,
            zones=tuple(zone_sight(zone, sight_of(shown, zone, seen)) for zone in shown.zones),
            remarks=tuple(remark.text for remark in remarks_on(view.dossier, line.name, seen, today, labels)),
            problem=seen.problem,
        )

    def accept(
        self,
        id: str,
        sha256: str,
        zone: str,
        sign: str,
        by: str,
        *,
        outline: Points | None = None,
        note: str = "",
        revision: int | None = None,
    ) -> Entry:
        """Make a suggestion a person's finding, with its picture, the zone's region or the outline drawn, and the source.

        Raises BadInput where the machine does not suggest it there, NotFound, or Changed.
        """
        if not zone:
            raise BadInput([Problem("zone", "no zone is given; put the picture on a zone first")])
        found = self.machine_findings(id, sha256)
        sight = found.suggesting(zone, sign)
        body: dict[str, object] = {"zone": zone, "sign": sign, "source": found.source, "picture": found.name}
        if outline is not None:
            body[OUTLINE] = [list(point) for point in outline]
        elif sight.region is not None:
            body["region"] = list(sight.region)
        body |= {key: value for key, value in (("seen_on", found.taken_on), ("note", note)) if value}
        return self.record(id, "finding", body, by, revision)

    def dismiss(self, id: str, sha256: str, zone: str, sign: str, by: str, *, revision: int | None = None) -> Entry:
        """Put a suggestion aside: neither it nor silence about it counts any more at this zone ("": on the whole picture).

        Raises BadInput where the machine does not suggest it there, NotFound, or Changed.
        """
        found = self.machine_findings(id, sha256)
        found.suggesting(zone, sign)
        said = _words(self.picture(id, sha256).facts.get("dismissed"))
        word = f"{sign}:{zone}" if zone else sign
        return self.describe_picture(id, sha256, {"dismissed": list(dict.fromkeys([*said, word]))}, by, revision)

    def restore(self, id: str, sha256: str, zone: str, sign: str, by: str, *, revision: int | None = None) -> Entry:
        """Let a dismissed suggestion count again. Raises BadInput where it was not dismissed there, NotFound, or Changed."""
        said = _words(self.picture(id, sha256).facts.get("dismissed"))
        word = f"{sign}:{zone}" if zone else sign
        if word not in said:
            raise BadInput([Problem("sign", unknown("dismissed sign", word, said))])
        return self.describe_picture(id, sha256, {"dismissed": [one for one in said if one != word]}, by, revision)

    @property
    def eye_version(self) -> str:
        """Version of the model that looks at pictures, "" where nothing does."""
        return self.eye.version if self.eye is not None else ""

    def unlooked(self, entries: Sequence[Entry], tables: Tables) -> tuple[str, ...]:
        """Hashes of the pictures of these entries that the machine has not looked at, where they are too many to wait for: they
        are looked at in a quiet moment. None where they are few, which are looked at when they are weighed. All stay left out
        until the last was looked at, so that the figures change once."""
        if self.eye is None:
            return ()
        newest = evidence_of(entries)
        shown = self._shas.get(newest, lambda: tuple(one.sha256 for one in gather(entries).pictures))
        there = [sha256 for sha256 in shown if self.pictures.exists(sha256)]
        late = tuple(sha256 for sha256 in there if not self.eye.knows(self.pictures.path(sha256), tables))
        if self._late.peek(newest) is None and len(late) > AT_ONCE:
            self._late.put(newest, late)
        return (self._late.peek(newest) or ()) if late else ()

    def looked(self, found: Gathered, tables: Tables, day: date, without: Collection[str] = ()) -> Dossier:
        """The dossier of what was gathered, with what the machine sees on its pictures. without : hashes of those that it is not
        to look at, about which the dossier has a remark."""
        dossier = dossier_of(found, tables, today=day)
        if self.eye is None:
            return dossier
        left = [one for one in found.pictures if one.sha256 in without]
        if left:
            dossier = replace(dossier, remarks=(*dossier.remarks, Remark("not-looked", "pictures", unlooked_words(len(left)))))
        there = {
            one.name: self.pictures.path(one.sha256)
            for one in found.pictures
            if one not in left and self.pictures.exists(one.sha256)
        }
        looked = look_at(replace(dossier, files=there), self.eye, tables)
        lost = {one.name: Seen(one.sha256, problem=LOST) for one in found.pictures if one.name not in there and one not in left}
        return replace(looked, seen={**looked.seen, **lost})

    def _see(self, line: PictureLine, regions: Sequence[Region]) -> Seen:
        if self.eye is None:
            raise BadInput("this desk looks at no pictures; start it with a home folder")
        if not self.pictures.exists(line.sha256):
            return Seen(line.sha256, problem=LOST)
        return self.eye.see(self.pictures.path(line.sha256), regions, self.tables())

    def _labels(self, view: CandidateView) -> Mapping[str, str]:
        """Zone -> what it is called; nothing where the tables no longer know the body."""
        vehicle = view.dossier.vehicle
        with suppress(BadInput):
            plan = load_plan(vehicle.body, self.tables(), battery_side=vehicle.battery_side, options=vehicle.options)
            return {zone.id: zone.label for zone in plan.zones}
        return {}


def unlooked_words(count: int) -> str:
    """How it is said that so many pictures were not looked at.

    >>> unlooked_words(1), unlooked_words(40)
    ('1 picture is still to be looked at by the machine', '40 pictures are still to be looked at by the machine')
    """
    return f"{'1 picture is' if count == 1 else f'{count} pictures are'} still to be looked at by the machine"


def _picture_of(view: CandidateView, sha256: str) -> PictureLine:
    found = next((picture for picture in view.pictures if picture.sha256 == sha256), None)
    if found is None:
        raise NotFound("there is no such picture in this candidate")
    return found


def _shown(view: CandidateView, line: PictureLine) -> Shown:
    """What is said of the picture; nothing where the tables no longer know its words."""
    return next((shown for shown in view.dossier.shown if shown.file == line.name), Shown(line.name))


def described(line: PictureLine, said: Mapping[str, object]) -> dict[str, object]:
    """The body of a picture's entry once `said` is said of it; null takes a key away. Regions and dismissals of zones that it no
    longer shows go with them, save those that were just given and are wrong."""
    body = {key: value for key, value in {**line.facts, **said}.items() if key != REPLACES}
    body |= {"sha256": line.sha256, "name": line.name}
    given = body.get("zones") or []
    if not isinstance(given, list | tuple):
        return body
    zones, regions = [str(zone) for zone in given], body.get("regions")
    if "regions" not in said and isinstance(regions, Mapping):
        kept = {zone: region for zone, region in regions.items() if zone in zones}
        body["regions"] = kept or None
    if "dismissed" not in said:
        gone = [word for word in _words(body.get("dismissed")) if ":" in word and word.partition(":")[2] not in zones]
        body["dismissed"] = [word for word in _words(body.get("dismissed")) if word not in gone]
    return {key: value for key, value in body.items() if value is not None}


def _words(value: object) -> list[str]:
    return [str(word) for word in value] if isinstance(value, list | tuple) else []
