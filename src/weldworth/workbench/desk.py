"""The desk: what the buyer and the partner do all day. Every page and every address of the API calls one method here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path

from weldworth.asks.ask import AskSet
from weldworth.core.errors import BadInput, Conflict, NotFound, Problem
from weldworth.tables import Tables
from weldworth.workbench import bench, diary, snapshots, taking
from weldworth.workbench.advert import AdvertReading, read_advert
from weldworth.workbench.checks import check
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.fold import dossier_of, gather
from weldworth.workbench.held import Held
from weldworth.workbench.keeping import begin, entries_in, evidence_of, keep, standing_at
from weldworth.workbench.ledger import REPLACES, Changed, Entry, Json, rivals, seal, standing_entries, upto, verify, withdrawn
from weldworth.workbench.lines import (
    CandidateLine,
    CandidateView,
    Compared,
    Deadline,
    DiaryLine,
    Feed,
    JointWorth,
    Metal,
    Snapshot,
    WhatIf,
)
from weldworth.workbench.message import message
from weldworth.workbench.people import People
from weldworth.workbench.ports import Clock, DossierFolders, Person, PictureFolder, Store, Summary, TableShelf
from weldworth.workbench.shop import Shop
from weldworth.workbench.summary import attention_terms, figures, whole_figures
from weldworth.workbench.weigh import Weighing, weigh
from weldworth.workbench.weigher import Basis, Weigher, chosen_asks, missing_words, with_changes, with_terms

SEED = 0
LONGEST_LABEL = 120
HELD_VIEWS = 64
DESK_ALONE = ("opened", "snapshot", "withdrawn")
MOST_AT_ONCE = 500


class Desk:
    """The use cases over one store. Safe to call from several threads.

    people : who may come in. shop : terms and tables with their versions. pictures : the originals.
    """

    def __init__(
        self,
        store: Store,
        tables: Tables,
        clock: Clock,
        pictures: PictureFolder,
        *,
        shelf: TableShelf | None = None,
        folders: DossierFolders | None = None,
    ) -> None:
        self.store, self.clock, self.pictures, self.folders = store, clock, pictures, folders
        self.people = People(store, clock)
        self.shop = Shop(store, tables, clock, shelf)
        self.weigher = Weigher()
        self._views: Held[CandidateView] = Held(HELD_VIEWS)

    # The bench

    def candidates(
        self, *, search: str = "", stage: str | None = None, archived: bool | None = False, order: str = "closes"
    ) -> list[CandidateLine]:
        """The bench.

        search : words in name, body, model year. archived : None for both. order : closes, attention, name or changed.
        """
        return bench.chosen(self._lines(), search=search, stage=stage, archived=archived, order=order)

    def line(self, id: str) -> CandidateLine:
        """One candidate as on the bench; raises NotFound."""
        found = next((line for line in self._lines() if line.id == id), None)
        if found is None:
            raise NotFound(f"there is no candidate {id!r} here")
        return found

    def _lines(self) -> list[CandidateLine]:
        with self.store.reading() as unit:
            rows, summaries = unit.candidates(), unit.summaries()
        tables = self.tables()
        basis = Basis("", "", tables.version, self.shop.terms().number, self.clock.today(), SEED)
        names = self.people.names()
        terms, now = attention_terms(tables), self.clock.now()
        return [bench.line_of(row, summaries.get(row.id), basis, now, terms, names) for row in rows]

    def refresh(self, most: int = 20) -> int:
        """Weigh up to `most` candidates whose figures on the bench are out of date; how many were. For quiet moments."""
        stale = [line for line in self._lines() if not line.fresh and not line.archived]
        for line in bench.chosen(stale, order="attention")[:most]:
            with suppress(BadInput):
                self.weighing(line.id)
        return len(stale[:most])

    def deadlines(self) -> list[Deadline]:
        """What closes and when, for the calendar; what is decided or archived left out."""
        return bench.deadlines(self._lines())

    # Taking in

    def open_candidate(self, name: str, body: str, by: str, **facts: object) -> str:
        """A new candidate and its id. facts : more keys of [vehicle]. Raises BadInput with the field of each problem."""
        given = {"name": name, "body": body, **facts}
        opened = check("opened", given, gather([]), self.tables(), self.clock.today())
        return begin(self.store, opened, [], by, self.clock.now())

    def import_dossier(self, folder: str | Path, by: str) -> str:
        """A dossier folder as a new candidate and its id. Raises NotFound, or BadInput with every problem of the folder."""
        taken = self._folders().take(Path(folder), self.tables(), self.clock.today())
        opened, items = taking.items_of(taken, self.pictures)
        return begin(self.store, opened, items, by, self.clock.now())

    def export_dossier(self, id: str, folder: str | Path) -> Path:
        """Write a candidate as a dossier folder, with its pictures and the whole ledger; returns the folder.

        Raises BadInput where the folder is there already and not empty.
        """
        view = self.candidate(id)
        self._folders().write(Path(folder), taking.files_of(view, self.pictures))
        return Path(folder)

    def export_all(self, folder: str | Path) -> Path:
        """Write everything: each candidate as a dossier folder, the shop's terms and tables with all versions, the people."""
        with self.store.reading() as unit:
            rows, people, terms, tables = unit.candidates(), unit.people(), unit.terms(), unit.tables()
        files: list[tuple[str, bytes | Path]] = list(taking.shop_files(people, terms, tables))
        for row, name in taking.folder_names(rows):
            files += [(f"{name}/{path}", content) for path, content in taking.files_of(self.candidate(row.id), self.pictures)]
        self._folders().write(Path(folder), files)
        return Path(folder)

    def _folders(self) -> DossierFolders:
        if self.folders is None:
            raise BadInput("this desk reads and writes no folders; start it with a home folder")
        return self.folders

    def read_advert(self, text: str, body: str | None = None) -> AdvertReading:
        """What an advertisement says: facts, claims and warnings, each with the words it came from. Records nothing.

        body : the body plan whose zones the claims are put on; claims have no findings without it.
        """
        return read_advert(text, self.tables(), body=body, today=self.clock.today())

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

    # One candidate

    def candidate(self, id: str, upto: int | None = None) -> CandidateView:
        """Everything recorded, or what was when `upto` was the last entry. Raises NotFound."""
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        tables, today = self.tables(), self.clock.today()
        key = (entries[-1].hash, upto, tables.version, today)
        return self._views.get(key, lambda: diary.view(entries, upto, tables, today))

    def diary(self, id: str) -> list[DiaryLine]:
        """Every entry with who, what and whether it stands; oldest first."""
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        return diary.lines(entries, self.people.names())

    def record(self, id: str, kind: str, body: Json, by: str, revision: int | None = None) -> Entry:
        """Add one entry. revision : `CandidateView.revision` of the page it was made from; None takes what comes.

        Raises BadInput (where = field), NotFound, or Changed where somebody changed the same thing since `revision`. The same
        entry by the same person again, as from a form sent twice, is not added twice.
        """
        return self.record_all(id, [(kind, body)], by, revision)[0]

    def record_all(self, id: str, items: Sequence[tuple[str, Json]], by: str, revision: int | None = None) -> list[Entry]:
        """Add several entries, all or none; see `record`. Where there are several, problems of item n say "n: field"."""
        alone = [kind for kind, _ in items if kind in DESK_ALONE]
        if alone:
            raise BadInput([Problem("kind", f"{alone[0]!r} is not recorded so; the desk makes it by itself")])
        if not 1 <= len(items) <= MOST_AT_ONCE:
            raise BadInput([Problem("items", f"{len(items)} are given; give 1 to {MOST_AT_ONCE}")])
        tables, today = self.tables(), self.clock.today()
        with self.store.writing() as unit:
            entries, problems = entries_in(unit, id), []
            before, added = len(entries), []
            for number, (kind, body) in enumerate(items, start=1):
                try:
                    kept = check(kind, body, gather(entries), tables, today)
                except BadInput as error:
                    many = f"{number}: " if len(items) > 1 else ""
                    problems += [Problem(many + p.where, p.text) for p in error.problems]
                    continue
                entry = seal(id, kind, kept, by, self.clock.now(), entries[-1])
                twin = self._unchallenged(entry, entries[:before], revision)
                if twin is None:
                    entries.append(entry)
                added.append(twin or entry)
            if problems:
                raise BadInput(problems)
            keep(unit, entries, before)
        return added

    def correct(self, id: str, seq: int, body: Json, by: str, revision: int | None = None) -> Entry:
        """Replace what entry `seq` says with `body`; the earlier one is kept and stands no longer.

        Raises as `record` does, and Conflict where the entry does not stand any more.
        """
        tables, today = self.tables(), self.clock.today()
        with self.store.writing() as unit:
            entries = entries_in(unit, id)
            old = standing_at(entries, seq)
            if old.kind in DESK_ALONE:
                raise BadInput([Problem("kind", f"{old.kind!r} cannot be corrected; record what changed instead")])
            before = gather([entry for entry in entries if entry.seq != seq])
            kept = {**check(old.kind, body, before, tables, today), REPLACES: seq}
            entry = seal(id, old.kind, kept, by, self.clock.now(), entries[-1])
            twin = self._unchallenged(entry, entries, revision)
            if twin is None:
                keep(unit, [*entries, entry], len(entries))
        return twin or entry

    def withdraw(self, id: str, seq: int, by: str) -> Entry:
        """Take entry `seq` back. Taking back a correction lets the earlier entry stand again."""
        with self.store.writing() as unit:
            entries = entries_in(unit, id)
            old = next((entry for entry in entries if entry.seq == seq), None)
            if old is None:
                raise NotFound(f"there is no entry {seq} in this candidate")
            if old.kind == "opened":
                raise BadInput([Problem("seq", "the opening cannot be taken back; archive the candidate instead")])
            if old.kind != "withdrawn":
                standing_at(entries, seq)
            elif seq in withdrawn(entries):
                raise Conflict(f"entry {seq} is taken back already; read the diary again")
            entry = seal(id, "withdrawn", {"seq": seq}, by, self.clock.now(), entries[-1])
            keep(unit, [*entries, entry], len(entries))
        return entry

    def undo_last(self, id: str, by: str) -> Entry:
        """Take back the last entry by this person that stands. Raises NotFound where there is none."""
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        mine = [entry for entry in standing_entries(entries) if entry.by == by and entry.kind not in ("opened", "snapshot")]
        if not mine:
            raise NotFound("there is nothing of yours here to take back")
        return self.withdraw(id, mine[-1].seq, by)

    def _unchallenged(self, entry: Entry, entries: Sequence[Entry], revision: int | None) -> Entry | None:
        """None where the entry may be added; the same entry where it is there already. Raises Changed."""
        if revision is None:
            return None
        clash = rivals(entry, entries, revision)
        same = [one for one in clash if (one.kind, one.body, one.by) == (entry.kind, entry.body, entry.by)]
        if same and same[-1] is clash[-1]:
            return same[-1]
        if clash:
            names = self.people.names()
            told = [f"{diary.about(e)} by {names.get(e.by, e.by)} at {e.at:%Y-%m-%d %H:%M} UTC" for e in clash[-3:]]
            raise Changed(f"changed since this page was made: {'; '.join(told)}. Look at it and send yours again", clash)
        return None

    # What it amounts to

    def tables(self) -> Tables:
        """The tables that hold now."""
        return self.shop.tables()

    def basis(self, id: str, upto: int | None = None) -> tuple[Basis, Callable[[], Dossier], Tables]:
        """What a weighing rests on, how to get its dossier, and the tables. An earlier moment is weighed on its own day."""
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        return self._basis(id, entries, upto)

    def _basis(self, id: str, entries: Sequence[Entry], until: int | None) -> tuple[Basis, Callable[[], Dossier], Tables]:
        counted = upto(entries, until)
        if not counted:
            raise NotFound(f"there is no entry {until} in this candidate")
        tables, terms = self.tables(), self.shop.terms()
        day = self.clock.today() if until is None else counted[-1].at.date()

        def dossier() -> Dossier:
            return with_terms(dossier_of(gather(counted), tables, today=day), terms.terms)

        return Basis(id, evidence_of(counted), tables.version, terms.number, day, SEED), dossier, tables

    def tables_version(self) -> str:
        """Version of the tables that hold now."""
        return self.tables().version

    def weighing(self, id: str, upto: int | None = None) -> Weighing:
        """The weighing as it stands, or stood when `upto` was the last entry; its best set of asks is left to `best_asks`.

        Raises NotFound, and BadInput with what is missing where it cannot be weighed yet.
        """
        basis, dossier, tables = self.basis(id, upto)
        try:
            found = self.weigher.weighing(basis, dossier, tables)
        except BadInput as error:
            if upto is None:
                self._remember(Summary(id, basis.key, basis.day.isoformat(), {}, missing_words(error)))
            raise
        if upto is None:
            self._remember(Summary(id, basis.key, basis.day.isoformat(), figures(found)))
        return found

    def _remember(self, summary: Summary) -> None:
        """Keep a summary for the bench, unless it is there already."""
        with self.store.reading() as unit:
            if unit.summary_key(summary.candidate) == summary.key:
                return
        with self.store.writing() as unit:
            unit.put_summary(summary)

    def metal(self, id: str, upto: int | None = None) -> Metal:
        """Plan, exposure and belief: there before any money is known, and sooner than the weighing."""
        return self.weigher.metal(*self.basis(id, upto))

    def what_if(self, id: str, changes: Sequence[Json]) -> list[WhatIf]:
        """The figures at other terms, one after another. changes : keys of [shop] over the terms as they stand."""
        basis, dossier, tables = self.basis(id)
        read = dossier()
        found = []
        for one in changes:
            try:
                tried = weigh(with_changes(read, one), tables, today=basis.day, seed=basis.seed, asks=0)
                found.append(WhatIf(dict(one), figures(tried)))
            except BadInput as error:
                found.append(WhatIf(dict(one), {}, tuple(p.text for p in error.problems)))
        return found

    def best_asks(self, id: str, most: int = 5) -> AskSet:
        """The best asks together, at most so many, with their joint worth as it grows."""
        return self.weigher.best(*self.basis(id), most)

    def joint_worth(self, id: str, chosen: Sequence[str]) -> JointWorth:
        """What the asks of these keys ("kind:zone") are worth together."""
        return self.weigher.together(*self.basis(id), chosen)

    def ask_message(self, id: str, chosen: Sequence[str]) -> str:
        """The message to the seller for the asks of these keys."""
        return message(chosen_asks(self.weighing(id), chosen))

    # What was known

    def snapshot(self, id: str, label: str, by: str) -> Entry:
        """Keep what is known now: figures, belief, and all that they rest on. Raises BadInput where it cannot be weighed."""
        label = " ".join(label.split())
        if not 1 <= len(label) <= LONGEST_LABEL:
            raise BadInput([Problem("label", f"label is {label[:20]!r}; give 1 to {LONGEST_LABEL} characters")])
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        basis, dossier, tables = self._basis(id, entries, None)
        found = self.weigher.weighing(basis, dossier, tables)
        body = snapshots.body_of(label, entries[-1], basis, self.shop.table_number(), whole_figures(found))
        with self.store.writing() as unit:
            now = entries_in(unit, id)
            entry = seal(id, "snapshot", body, by, self.clock.now(), now[-1])
            keep(unit, [*now, entry], len(now))
        return entry

    def snapshots(self, id: str) -> list[Snapshot]:
        """The snapshots that stand, oldest first."""
        with self.store.reading() as unit:
            return snapshots.all_of(entries_in(unit, id))

    def recompute(self, id: str, seq: int) -> Compared:
        """Work a snapshot out anew from its entries, table version, terms and seed, and compare."""
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        then = next((one for one in snapshots.all_of(entries) if one.seq == seq), None)
        if then is None:
            raise NotFound(f"entry {seq} is no snapshot that stands")
        counted, day = upto(entries, then.at_seq), date.fromisoformat(then.weighed_on)
        try:
            tables = self.shop.tables_at(then.table_number)
            dossier = with_terms(dossier_of(gather(counted), tables, today=day), self.shop.terms_at(then.terms).terms)
            now = whole_figures(weigh(dossier, tables, today=day, seed=then.seed, asks=0))
        except BadInput as error:
            return snapshots.compared(then, counted, {}, "", missing_words(error))
        return snapshots.compared(then, counted, now, tables.version, "")

    def verify(self, id: str | None = None) -> dict[str, list[Problem]]:
        """Candidate -> where its chain of hashes is broken; only candidates with problems. id None looks at all."""
        with self.store.reading() as unit:
            ids = [id] if id is not None else [row.id for row in unit.candidates()]
            found = {one: verify(entries_in(unit, one)) for one in ids}
        return {one: problems for one, problems in found.items() if problems}

    def changes(self, since: int, most: int = 500) -> Feed:
        """What was recorded after the change number `since`, oldest first."""
        with self.store.reading() as unit:
            return bench.feed(unit.changes(since, most), since, self.people.names())

    def last_change(self) -> int:
        """Number of the newest change, to start a feed from."""
        with self.store.reading() as unit:
            return unit.last_change()

    # Who comes in

    def owner(self) -> Person:
        """Who works on this machine without a login."""
        return self.people.owner()

    def session(self, secret: str) -> Person | None:
        """Whose session it is."""
        return self.people.session(secret)
