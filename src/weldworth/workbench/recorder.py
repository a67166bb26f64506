"""Recording about one candidate: entries added, corrected and taken back, each checked first and sealed into the chain."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from weldworth.core.errors import BadInput, Conflict, NotFound, Problem
from weldworth.tables import Tables
from weldworth.workbench.checks import check
from weldworth.workbench.diary_words import about, words_of
from weldworth.workbench.fold import gather
from weldworth.workbench.keeping import begin_with, entries_in, keep, new_id, standing_at
from weldworth.workbench.ledger import REPLACES, Changed, Entry, Json, rivals, seal, standing_entries, withdrawn
from weldworth.workbench.people import People
from weldworth.workbench.ports import Clock, Receipt, Store, Unit
from weldworth.workbench.shop import Shop
from weldworth.workbench.stamps import ago

DESK_ALONE = ("opened", "history", "snapshot", "withdrawn", "walk", "memo", "erased")
"""Kinds of entries that nobody records by hand."""
MOST_AT_ONCE = 500


class Recorder:
    """The use cases that write to a candidate's ledger; all or nothing, and never over what somebody else changed."""

    def __init__(self, store: Store, clock: Clock, people: People, shop: Shop) -> None:
        self.store, self.clock, self.people, self.shop = store, clock, people, shop

    def tables(self) -> Tables:
        """The tables that hold now."""
        return self.shop.tables()

    def take_in(self, opened: Json, items: Sequence[tuple[str, Json]], by: str) -> str:
        """A new candidate with everything that is known of it at once, all or nothing; its id. opened : keys of [vehicle].

        Raises BadInput with the field of each problem; those of item n say "n: field".
        """
        tables, today, now = self.tables(), self.clock.today(), self.clock.now()
        entries = [seal(new_id(), "opened", check("opened", opened, gather([]), tables, today), by, now, None)]
        self._sealed(entries, items, by, now, lambda entry: None)
        return begin_with(self.store, entries)

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
        with self.store.writing() as unit:
            return self._add(unit, id, items, by, revision)

    def record_once(self, receipt: Receipt, items: Sequence[tuple[str, Json]], by: str) -> Receipt:
        """Add the entries and keep the receipt, all or nothing.

        Where there is a receipt of this owner and id already, nothing is added and that one is returned. items may be empty.
        Raises as `record_all`.
        """
        with self.store.writing() as unit:
            there = unit.receipt(receipt.owner, receipt.id)
            if there is not None:
                return there
            added = self._add(unit, receipt.candidate, items, by, None) if items else []
            kept = replace(receipt, entry=added[0].seq if added else None)
            unit.put_receipt(kept)
        return kept

    def receipt(self, owner: str, id: str) -> Receipt | None:
        """What was kept of the thing that a phone called `id`."""
        with self.store.reading() as unit:
            return unit.receipt(owner, id)

    def receipts(self, owner: str) -> list[Receipt]:
        """Everything that came from one phone's owner, oldest first."""
        with self.store.reading() as unit:
            return unit.receipts(owner)

    def _add(self, unit: Unit, id: str, items: Sequence[tuple[str, Json]], by: str, revision: int | None) -> list[Entry]:
        entries = entries_in(unit, id)
        before = len(entries)
        now = self._moment(entries)
        added = self._sealed(entries, items, by, now, lambda entry: self._unchallenged(entry, entries[:before], revision))
        keep(unit, entries, before)
        return added

    def _sealed(
        self,
        entries: list[Entry],
        items: Sequence[tuple[str, Json]],
        by: str,
        now: datetime,
        twin_of: Callable[[Entry], Entry | None],
    ) -> list[Entry]:
        """Check the items one after another and put them at the end of `entries`, but those that have a twin there."""
        tables, today, problems = self.tables(), self.clock.today(), []
        added: list[Entry] = []
        for number, (kind, body) in enumerate(items, start=1):
            try:
                kept = check(kind, body, gather(entries), tables, today)
            except BadInput as error:
                many = f"{number}: " if len(items) > 1 else ""
                problems += [Problem(many + p.where, p.text) for p in error.problems]
                continue
            entry = seal(entries[-1].candidate, kind, kept, by, now, entries[-1])
            twin = twin_of(entry)
            if twin is None:
                entries.append(entry)
            added.append(twin or entry)
        if problems:
            raise BadInput(problems)
        return added

    def correct(self, id: str, seq: int, body: Json, by: str, revision: int | None = None) -> Entry:
        """Replace what entry `seq` says with `body`; the earlier one is kept and stands no longer.

        Raises as `record` does, and Conflict where the entry does not stand any more.
        """
        return self.correct_all(id, [(seq, body)], by, revision)[0]

    def correct_all(self, id: str, items: Sequence[tuple[int, Json]], by: str, revision: int | None = None) -> list[Entry]:
        """Correct several entries, all or none; see `correct`."""
        if not 1 <= len(items) <= MOST_AT_ONCE:
            raise BadInput([Problem("items", f"{len(items)} are given; give 1 to {MOST_AT_ONCE}")])
        tables, today = self.tables(), self.clock.today()
        with self.store.writing() as unit:
            entries, added = entries_in(unit, id), []
            count, now = len(entries), self._moment(entries)
            for seq, body in items:
                old = standing_at(entries, seq)
                if old.kind in DESK_ALONE:
                    raise BadInput([Problem("kind", f"{old.kind!r} cannot be corrected; record what changed instead")])
                before = gather([entry for entry in entries if entry.seq != seq])
                kept = {**check(old.kind, body, before, tables, today), REPLACES: seq}
                entry = seal(id, old.kind, kept, by, now, entries[-1])
                twin = self._unchallenged(entry, entries[:count], revision)
                if twin is None:
                    entries.append(entry)
                added.append(twin or entry)
            keep(unit, entries, count)
        return added

    def _moment(self, entries: Sequence[Entry]) -> datetime:
        """When the next action happens: all entries of one action carry the same moment, and no two actions share one."""
        return max(self.clock.now(), entries[-1].at + timedelta(microseconds=1))

    def withdraw(self, id: str, seq: int, by: str) -> Entry:
        """Take entry `seq` back. Taking back a correction lets the earlier entry stand again."""
        return self.withdraw_all(id, [seq], by)[0]

    def withdraw_all(self, id: str, seqs: Sequence[int], by: str) -> list[Entry]:
        """Take several entries back, in this order, all or none; see `withdraw`."""
        with self.store.writing() as unit:
            entries = entries_in(unit, id)
            count, now = len(entries), self._moment(entries)
            for seq in seqs:
                self._may_go(entries, seq)
                entries.append(seal(id, "withdrawn", {"seq": seq}, by, now, entries[-1]))
            keep(unit, entries, count)
        return entries[count:]

    def _may_go(self, entries: Sequence[Entry], seq: int) -> None:
        """Raises where the entry cannot be taken back."""
        old = next((entry for entry in entries if entry.seq == seq), None)
        if old is None:
            raise NotFound(f"there is no entry {seq} in this candidate")
        if old.kind == "opened":
            raise BadInput([Problem("seq", "the opening cannot be taken back; archive the candidate instead")])
        if old.kind == "history":
            raise BadInput([Problem("seq", "what was recorded elsewhere stays; archive the candidate instead")])
        if old.kind == "erased":
            raise BadInput([Problem("seq", "what was erased is gone and cannot come back")])
        if old.kind != "withdrawn":
            standing_at(entries, seq)
        elif seq in withdrawn(entries):
            raise Conflict(f"entry {seq} is taken back already; read the diary again")

    def undo_last(self, id: str, by: str) -> list[Entry]:
        """Take back what this person did last, all of it where one action made several entries that stand; the newest first.

        What a candidate was taken in with goes entry by entry. Raises NotFound where there is nothing.
        """
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        kept = ("opened", "history", "snapshot", "erased")
        mine = [entry for entry in standing_entries(entries) if entry.by == by and entry.kind not in kept]
        if not mine:
            raise NotFound("there is nothing of yours here to take back")
        last = mine[-1]
        whole = [entry.seq for entry in mine if entry.at == last.at] if last.at != entries[0].at else [last.seq]
        return self.withdraw_all(id, sorted(whole, reverse=True), by)

    def _unchallenged(self, entry: Entry, entries: Sequence[Entry], revision: int | None) -> Entry | None:
        """None where the entry may be added; the same entry where it is there already. Raises Changed."""
        if revision is None:
            return None
        clash = rivals(entry, entries, revision)
        same = [one for one in clash if (one.kind, one.body, one.by) == (entry.kind, entry.body, entry.by)]
        if same and same[-1] is clash[-1]:
            return same[-1]
        if clash:
            names, now = self.people.names(), self.clock.now()
            words = words_of(str(gather(entries).vehicle.get("body", "")), self.tables())
            by_seq = {one.seq: one for one in entries}
            told = [f"{about(e, words, by_seq)}, by {names.get(e.by, e.by)} {ago(e.at, now)}" for e in clash[-3:]]
            raise Changed(
                f"changed since this page was made: {'; '.join(told)}. Yours was not recorded; look at it and send yours again",
                clash,
            )
        return None
