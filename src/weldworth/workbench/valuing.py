"""What a candidate amounts to: its metal, its bill, its weighing, what may be asked, what other terms would change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from weldworth.asks.ask import AskSet
from weldworth.bill.summary import Bill
from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.core.words import unknown
from weldworth.tables import Tables
from weldworth.vehicle.plan import Plan
from weldworth.workbench.comparing import Comparer
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.fold import gather
from weldworth.workbench.keeping import entries_in, evidence_of
from weldworth.workbench.ledger import Entry, Json, upto
from weldworth.workbench.lines import JointWorth, Metal, WhatIf
from weldworth.workbench.message import message
from weldworth.workbench.people import SELLER, People
from weldworth.workbench.ports import Clock, PictureFolder, PictureReader, Store, Summary
from weldworth.workbench.route import ANYWHERE, Ground
from weldworth.workbench.shop import Shop
from weldworth.workbench.summary import figures, money_figures
from weldworth.workbench.walk import WalkPlan, plan_walk, walkers
from weldworth.workbench.weigh import Weighing, weigh
from weldworth.workbench.weigher import Basis, Weigher, chosen_asks, missing_words, with_changes, with_terms

SEED = 0


class Valuer(Comparer):
    """The use cases about what one candidate amounts to, now or at an earlier moment."""

    def __init__(
        self, store: Store, clock: Clock, people: People, shop: Shop, pictures: PictureFolder, eye: PictureReader | None
    ) -> None:
        super().__init__(store, clock, people, shop, pictures, eye)
        self.weigher = Weigher()

    def basis(self, id: str, upto: int | None = None, *, now: bool = False) -> tuple[Basis, Callable[[], Dossier], Tables]:
        """What a weighing rests on, how to get its dossier, and the tables. An earlier moment is weighed on its own day.

        now : with what sellers have just sent too, and with every picture looked at, however long that takes; without it that
        waits for a quiet moment (`waits`, `to_look_at`).
        """
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        return self._basis(id, entries if now or upto is not None else self._weighed(id, entries), upto, late=not now)

    def to_look_at(self, id: str, upto: int | None = None) -> int:
        """How many pictures the machine has still to look at in quiet moments; what is weighed until then is without them."""
        left = self.basis(id, upto)[0].unlooked
        tables = self.tables()
        return sum(self.eye is not None and not self.eye.knows(self.pictures.path(sha256), tables) for sha256 in left)

    def waits(self, id: str) -> bool:
        """Whether something that a seller sent is not weighed yet: it is in a quiet moment (`refresh`)."""
        with self.store.reading() as unit:
            entries = entries_in(unit, id)
        return len(self._weighed(id, entries)) < len(entries)

    def _weighed(self, id: str, entries: list[Entry]) -> list[Entry]:
        """The entries, without the newest from sellers where a weighing without them is at hand: nobody at the desk waits while
        pictures come in."""
        newest = self._basis(id, entries, None, late=False)[0]
        for count in range(len(entries), 0, -1):
            held = self.weigher.holds_some(replace(newest, evidence=evidence_of(entries[:count])))
            if held and self.weigher.holds(self._basis(id, entries[:count], None)[0]):
                return entries[:count]
            if not entries[count - 1].by.startswith(SELLER):
                break
        return entries

    def _basis(
        self, id: str, entries: Sequence[Entry], until: int | None, *, late: bool = True
    ) -> tuple[Basis, Callable[[], Dossier], Tables]:
        """late : whether pictures may be left to a quiet moment."""
        counted = upto(entries, until)
        if not counted:
            raise NotFound(f"there is no entry {until} in this candidate")
        tables, terms = self.tables(), self.shop.terms()
        day = self.clock.today() if until is None else counted[-1].at.date()

        unlooked = self.unlooked(counted, tables) if late else ()

        def dossier() -> Dossier:
            return with_terms(self.looked(gather(counted), tables, day, unlooked), terms.terms)

        basis = Basis(id, evidence_of(counted), tables.version, terms.number, day, SEED, self.eye_version, unlooked)
        return basis, dossier, tables

    def tables_version(self) -> str:
        """Version of the tables that hold now."""
        return self.tables().version

    def weighing(self, id: str, upto: int | None = None, *, now: bool = False) -> Weighing:
        """The weighing as it stands, or stood when `upto` was the last entry; its best set of asks is left to `best_asks`.

        Raises NotFound, and BadInput with what is missing where it cannot be weighed yet.
        """
        basis, dossier, tables = self.basis(id, upto, now=now)
        try:
            found = self.weigher.weighing(basis, dossier, tables)
        except BadInput as error:
            if upto is None:
                self._remember(Summary(id, basis.key, basis.day.isoformat(), {}, missing_words(error)))
            raise
        if upto is None:
            self._remember(Summary(id, basis.key, basis.day.isoformat(), money_figures(found)))
            elsewhere = self.told_elsewhere(id, self.waits) if not basis.unlooked else []
            return replace(found, remarks=(*found.remarks, *elsewhere)) if elsewhere else found
        return found

    def _remember(self, summary: Summary, *, over: bool = False) -> None:
        """Keep a summary for the bench. over : also where one of the same weighing is there already."""
        with self.store.reading() as unit:
            if not over and unit.summary_key(summary.candidate) == summary.key:
                return
        with self.store.writing() as unit:
            unit.put_summary(summary)

    def metal(self, id: str, upto: int | None = None) -> Metal:
        """Plan, exposure and belief: there before any money is known, and sooner than the weighing."""
        return self.weigher.metal(*self.basis(id, upto))

    def bill(self, id: str) -> tuple[Plan, Bill]:
        """The plan and the bill, which need no resale: what a page shows before there is one. Raises NotFound, BadInput."""
        return self.weigher.bill(*self.basis(id))

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

    def walk_plan(self, id: str, source: str, minutes: int, ground: Ground = ANYWHERE) -> WalkPlan:
        """The walk round the vehicle that is worth most in `minutes`, by somebody whose findings have this source.

        ground : of the body as drawn. Raises BadInput for a source that nobody walks as, and for minutes out of bounds.
        """
        basis, dossier, tables = self.basis(id)
        known = walkers(tables)
        if source not in known:
            raise BadInput([Problem("source", unknown("source", source, known))])
        looks = self.weigher.looks(basis, dossier, tables, known[source])
        plan = self.weigher.metal(basis, dossier, tables).plan
        return plan_walk(plan, looks.shares, looks.together, known[source], minutes, ground, tables, looks.currency)

    def joint_worth(self, id: str, chosen: Sequence[str]) -> JointWorth:
        """What the asks of these keys ("kind:zone") are worth together."""
        return self.weigher.together(*self.basis(id), chosen)

    def ask_message(self, id: str, chosen: Sequence[str]) -> str:
        """The message to the seller for the asks of these keys."""
        return message(chosen_asks(self.weighing(id), chosen))
