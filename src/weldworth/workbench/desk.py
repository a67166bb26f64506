"""The desk: what the buyer and the partner do all day. Every page and every address of the API calls one method here."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import date
from pathlib import Path

from weldworth.ceiling.columns import Matching
from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.tables import Tables
from weldworth.workbench import bench, diary, snapshots, taking
from weldworth.workbench.advert import AdvertReading, read_advert
from weldworth.workbench.beside import Beside
from weldworth.workbench.comparing import EVERY
from weldworth.workbench.fold import gather
from weldworth.workbench.keeping import begin, entries_in, keep
from weldworth.workbench.ledger import Entry, seal, upto, verify
from weldworth.workbench.lines import CandidateLine, Compared, Deadline, DiaryLine, Feed, Snapshot
from weldworth.workbench.links import Links
from weldworth.workbench.people import People
from weldworth.workbench.ports import Clock, DossierFolders, PictureFolder, PictureReader, Receipt, Store, Summary, TableShelf
from weldworth.workbench.shop import Shop
from weldworth.workbench.summary import ask_figures, attention_terms, figures, set_figures, whole_figures
from weldworth.workbench.valuing import SEED, Valuer
from weldworth.workbench.weigh import weigh
from weldworth.workbench.weigher import Ahead, Basis, missing_words, with_terms

LONGEST_LABEL = 120
MATCHED_TABLES = 40
JUDGED_AT_ONCE = 3
"""Of so many candidates the asks are judged while the bench is waited for, about 60 ms each; more are left to a quiet moment."""


class Desk(Valuer):
    """The use cases over one store. Safe to call from several threads.

    people : who may come in. shop : terms and tables with their versions. pictures : the originals. eye : what looks at them.
    beside : where the long work of quiet moments is done; here where None.
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
        eye: PictureReader | None = None,
        beside: Beside | None = None,
    ) -> None:
        super().__init__(store, clock, People(store, clock), Shop(store, tables, clock, shelf), pictures, eye)
        self.folders = folders
        self.links = Links(self, pictures)
        self.beside: Beside = beside or self

    # The bench

    def candidates(
        self, *, search: str = "", stage: str | None = None, archived: bool | None = False, order: str = "closes"
    ) -> list[CandidateLine]:
        """The bench.

        search : words in name, body, model year. archived : None for both. order : closes, attention, name or changed.
        """
        return bench.chosen(self._lines(judged=True), search=search, stage=stage, archived=archived, order=order)

    def line(self, id: str) -> CandidateLine:
        """One candidate as on the bench; raises NotFound."""
        found = next((line for line in self._lines() if line.id == id), None)
        if found is None:
            raise NotFound(f"there is no candidate {id!r} here")
        return found

    def _lines(self, *, judged: bool = False) -> list[CandidateLine]:
        with self.store.reading() as unit:
            rows, summaries = unit.candidates(), unit.summaries()
        if judged:
            summaries = self._judged(summaries)
        tables = self.tables()
        basis = Basis("", "", tables.version, self.shop.terms().number, self.clock.today(), SEED, self.eye_version)
        names = self.people.names()
        terms, now = attention_terms(tables), self.clock.now()
        return [bench.line_of(row, summaries.get(row.id), basis, now, terms, names) for row in rows]

    def _judged(self, summaries: dict[str, Summary]) -> dict[str, Summary]:
        """The same, with the best ask of a few candidates that were weighed for a page which shows no asks; that is kept."""
        waiting = [one for one in summaries.values() if "ceiling" in one.body and "best_net" not in one.body]
        held = [(one, found) for one in waiting if (found := self.weigher.at_hand(one.key)) is not None][:JUDGED_AT_ONCE]
        made = [replace(one, body={**one.body, **ask_figures(found)}) for one, found in held]
        if made:
            with self.store.writing() as unit:
                for one in made:
                    if unit.summary_key(one.candidate) == one.key:
                        unit.put_summary(one)
        return {**summaries, **{one.candidate: one for one in made}}

    def refresh(self, most: int = 20) -> int:
        """Weigh up to `most` candidates whose figures on the bench are out of date, and make up to `most` pictures ready to be
        compared across the shop; how many there were of both. For quiet moments."""
        stale = [line for line in self._lines() if bench.stale(line)]
        compared = self.beside.compare_ahead(most)
        if self.beside is not self:
            self.compare_ahead(EVERY)
        for line in bench.chosen(stale, order="attention")[:most]:
            made = self.beside.ahead(line.id)
            if made is not None:
                self.tell_again(line.id, self.beside.alike_elsewhere)
                self.weigher.hold(made)
        self.tell_overdue(self.beside.alike_elsewhere)
        return len(stale[:most]) + compared

    def ahead(self, id: str) -> Ahead | None:
        """What a candidate amounts to with everything recorded, its summary kept; None where it cannot be weighed yet."""
        with suppress(BadInput):
            self.weighing(id, now=True)
            basis, dossier, tables = self.basis(id, now=True)
            made = self.weigher.ahead(basis, dossier, tables)
            body = {**figures(made.weighing), **set_figures(made.best)}
            self._remember(Summary(id, basis.key, basis.day.isoformat(), body), over=True)
            return made
        return None

    def deadlines(self) -> list[Deadline]:
        """What closes and when, for the calendar; what is decided or archived left out."""
        return bench.deadlines(self._lines())

    # Taking in

    def open_candidate(self, name: str, body: str, by: str, **facts: object) -> str:
        """A new candidate and its id. facts : more keys of [vehicle]. Raises BadInput with the field of each problem."""
        return self.take_in({"name": name, "body": body, **facts}, [], by)

    def import_dossier(self, folder: str | Path, by: str, receipt: Receipt | None = None) -> str:
        """A dossier folder as a new candidate and its id. receipt : kept with it; where it is there already, the candidate of
        then. Raises NotFound, or BadInput with every problem of the folder.
        """
        taken = self._folders().take(Path(folder), self.tables(), self.clock.today())
        tables, eye = self.tables(), self.eye
        frames = (lambda file, name: eye.frames(file, name, tables)) if eye is not None else None
        opened, items = taking.items_of(taken, self.pictures, frames)
        return begin(self.store, opened, items, by, self.clock.now(), receipt)

    def export_dossier(self, id: str, folder: str | Path) -> Path:
        """Write a candidate as a dossier folder, with its pictures and the whole ledger; returns the folder.

        Raises BadInput where the folder is there already and not empty.
        """
        view = self.candidate(id)
        self._folders().write(Path(folder), taking.files_of(view, self.pictures, self.people.names()))
        return Path(folder)

    def export_all(self, folder: str | Path) -> Path:
        """Write everything: each candidate as a dossier folder, the shop's terms and tables with all versions, the people."""
        with self.store.reading() as unit:
            rows, people, terms, tables = unit.candidates(), unit.people(), unit.terms(), unit.tables()
        files: list[tuple[str, bytes | Path]] = list(taking.shop_files(people, terms, tables))
        names = self.people.names()
        for row, name in taking.folder_names(rows):
            written = taking.files_of(self.candidate(row.id), self.pictures, names)
            files += [(f"{name}/{path}", content) for path, content in written]
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

    def matched_before(self) -> Matching:
        """What the headings of sales tables were matched to when the shop last took some in."""
        with self.store.reading() as unit:
            return taking.matched_in(unit.latest("comparables", MATCHED_TABLES))

    # One candidate

    def diary(self, id: str) -> list[DiaryLine]:
        """Every entry with who, what and whether it stands; oldest first."""
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        return diary.lines(entries, self.people.names(), self.tables())

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
            looked = self.looked(gather(counted), tables, day, then.unlooked)
            dossier = with_terms(looked, self.shop.terms_at(then.terms).terms)
            now = whole_figures(weigh(dossier, tables, today=day, seed=then.seed, asks=0))
        except BadInput as error:
            return snapshots.compared(then, counted, {}, "", "", missing_words(error))
        return snapshots.compared(then, counted, now, tables.version, self.eye_version, "")

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
