"""The price book laid over one vehicle's zones: which zone asks for which job, set-up and panel in which condition."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from weldworth.bill.book import MENDED_CONDITIONS, Book, Operation, Panel, Repair, Setup
from weldworth.bill.spread import Floats, Triple
from weldworth.bill.terms import RepairTerms
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.vehicle.conditions import CONDITIONS, HOLED, MASKED, PITTED, SOUND, SURFACE
from weldworth.vehicle.plan import SIDES, Plan, Zone

FINISHES = ("under.coat", "cavity.wax")
PAINT_LINES = ("panel.paint", "panel.blend", "respray")
TEARDOWN, PAINT_SETUP = "U.teardown", "P.setup"
LAST_KEYS = ("paint", "consumables", "edges", "rework")
Lookup = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Curve:
    """Likely figure and log-scale widths (below, above) by level, level 0 being nothing to do. See spread.Triple."""

    likely: Floats
    width: Floats

    @classmethod
    def of(cls, figures: Sequence[tuple[Triple | None, float]]) -> Curve:
        """From (figures, quantity) by level; None is never the cheaper one."""
        likely = [0.0] + [np.inf if t is None else t.likely * q for t, q in figures]
        widths = [(0.0, 0.0)] + [(0.0, 0.0) if t is None else t.widths for t, _ in figures]
        return cls(np.array(likely), np.array(widths).ravel())

    def at(self, level: Lookup, z: Floats) -> Floats:
        """The figure of each draw, whose level and deviate are given."""
        out: Floats = np.exp(self.width[2 * level + (z >= 0)] * z)
        out *= self.likely[level]
        return out


@dataclass(frozen=True, slots=True)
class Job:
    """One place that is mended in one go, on one side, by the largest of the operations that its zones ask for.

    levels : the operations in order of likely cost. asks : (zone, level by condition).
    """

    id: str
    name: str
    side: str
    group: tuple[str, str] | None
    levels: tuple[Repair, ...]
    asks: tuple[tuple[int, Lookup], ...]
    hours: Curve
    material: Curve
    other_hours: Curve | None
    other_material: Curve | None


@dataclass(frozen=True)
class Layout:
    """A plan and a book joined for one set of terms. Amounts of material are in the terms' currency."""

    plan: Plan
    book: Book
    terms: RepairTerms
    jobs: tuple[Job, ...]
    setups: tuple[Setup, ...]
    setup_asks: tuple[tuple[int, str, int, Floats], ...]
    panels: tuple[tuple[str, Panel], ...]
    panel_asks: tuple[tuple[int, int, NDArray[np.bool_]], ...]
    blends: tuple[tuple[int, int], ...]

    @cached_property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """Jobs that share strip, cleaning and bracing, side by side."""
        found: dict[tuple[str, str], list[int]] = {}
        for i, job in enumerate(self.jobs):
            if job.group is not None:
                found.setdefault(job.group, []).append(i)
        return tuple(tuple(members) for members in found.values() if len(members) > 1)

    @cached_property
    def edges(self) -> tuple[tuple[int, int], ...]:
        """Pairs of jobs that adjoin on the same side; a job on the centre line adjoins both sides."""
        rows = {job.id: i for i, job in enumerate(self.jobs)}
        found = []
        for a, b in self.book.edges:
            for side in ("", *SIDES):
                first, second = _row(rows, a, side), _row(rows, b, side)
                if first is not None and second is not None and (first, second) not in found:
                    found.append((first, second))
        return tuple(found)

    @cached_property
    def covers(self) -> tuple[tuple[int, ...], ...]:
        """For each replacement, the zones that come with it."""
        return tuple(
            tuple(i for i, zone in enumerate(self.plan.zones) if part.takes(zone.kind)) for part in self.book.replacements
        )

    @cached_property
    def panel_sizes(self) -> tuple[tuple[float, list[int]], ...]:
        """The sizes that panels have, and the panels of each."""
        return _alike([panel.size for _, panel in self.panels])

    @cached_property
    def panel_sessions(self) -> tuple[tuple[float, list[int]], ...]:
        """The shares of the paint set-up that panels need, and the panels of each."""
        return _alike([panel.session for _, panel in self.panels])

    @cached_property
    def keys(self) -> dict[str, int]:
        """What is estimated, and the row of the chances that its estimate error follows.

        A set-up that another includes follows that one's error, so that the larger never costs less.
        """
        names = [job.id for job in self.jobs] + [s.code for s in self.setups] + [*LAST_KEYS]
        names += [part.part for part in self.book.replacements]
        rows = {name: i for i, name in enumerate(names)}
        return rows | {s.includes: rows[s.code] for s in self.setups if s.includes}

    @property
    def in_scope(self) -> NDArray[np.bool_]:
        """Which zones are mended on these terms."""
        repair = self.terms.repair
        whole = repair in ("all", "needed")
        return np.array([whole or (repair == "structural" and z.structural == "yes") for z in self.plan.zones])

    def to_mend(self, metal: NDArray[np.intp]) -> NDArray[np.intp]:
        """What of the metal, (zones, draws), is priced on these terms; the rest counts as sound.

        "needed" leaves film that nobody sees and disclosed as such, and takes thinned metal that carries no load for film.
        """
        priced = np.where(self.in_scope[:, None], metal, SOUND)
        if self.terms.repair != "needed":
            return priced
        carries = np.array([zone.structural == "yes" for zone in self.plan.zones])[:, None]
        outside = np.array([zone.station == "outside" for zone in self.plan.zones])[:, None]
        priced = np.where((priced == PITTED) & ~carries, SURFACE, priced)
        return np.where((priced == SURFACE) & ~outside, SOUND, priced)


def _alike(values: Sequence[float]) -> tuple[tuple[float, list[int]], ...]:
    """Each of the values that occur, rising, with its places."""
    return tuple((value, [i for i, one in enumerate(values) if one == value]) for value in sorted(set(values)))


def _row(rows: Mapping[str, int], job: str, side: str) -> int | None:
    """The row of a job on this side, or of the one on the centre line."""
    return rows.get(f"{job}.{side}" if side else job, rows.get(job))


@lru_cache(maxsize=32)
def lay_out(plan: Plan, book: Book, terms: RepairTerms) -> Layout:
    """Join plan, book and terms. Kept for the next bill of the same three: findings change nothing of it.

    Raises BadInput naming every zone without repair rows and every unknown panel.
    """
    problems = [Problem("repairs.csv", unknown("zone", z.kind, book.repairs)) for z in plan.zones if z.kind not in book.repairs]
    panels = tuple((f"{p.id}.{side}" if side else p.id, p) for p in book.panels.values() for side in p.sides)
    rows = {id: i for i, (id, _) in enumerate(panels)}
    known = {repair.panels for z in plan.zones for need in book.repairs.get(z.kind, {}).values() for repair in need}
    for name in sorted({name for names in known for name in names}):
        if not _panel_rows(name, "", rows):
            problems.append(Problem("repairs.csv", unknown("panel", name, book.panels)))
    if problems:
        raise BadInput(problems)
    needs = [_needs(book, terms, zone) for zone in plan.zones]
    jobs = _jobs(plan, book, terms, needs)
    finishes = [_as_setup(book.operations[code]) for code in FINISHES]
    setups = (*book.setups.values(), *finishes)
    return Layout(
        plan=plan,
        book=book,
        terms=terms,
        jobs=jobs,
        setups=setups,
        setup_asks=_setup_asks(plan, book, setups, needs),
        panels=panels,
        panel_asks=_panel_asks(plan, rows, needs),
        blends=tuple(
            (i, other)
            for id, panel in panels
            for i in [rows[id]]
            for name in panel.blends
            for other in _panel_rows(name, id.rpartition(".")[2] if id != panel.id else "", rows)
        ),
    )


def _as_setup(operation: Operation) -> Setup:
    """An operation that follows once per vehicle is charged like a set-up."""
    return Setup(operation.code, operation.name, operation.hours, operation.material, 1.0, "", 0.0, 0.0)


def _needs(book: Book, terms: RepairTerms, zone: Zone) -> list[tuple[Repair, ...]]:
    """What the zone needs in each of the six conditions; masked needs what holed needs."""
    rows = book.repairs[zone.kind]
    needs = [rows[c] if c in MENDED_CONDITIONS else () for c in CONDITIONS]
    needs[MASKED] = needs[HOLED]
    if terms.paint == "none":
        needs = [tuple(r for r in need if r.operation != "panel.touch") for need in needs]
    return needs


def _jobs(plan: Plan, book: Book, terms: RepairTerms, needs: list[list[tuple[Repair, ...]]]) -> tuple[Job, ...]:
    asked: dict[tuple[str, str], list[tuple[int, int, Repair]]] = {}
    for z, zone in enumerate(plan.zones):
        for condition, need in enumerate(needs[z]):
            for repair in need:
                asked.setdefault((repair.job, zone.side), []).append((z, condition, repair))
    rate = terms.labour_rate.likely / terms.per_usd
    jobs = []
    for (kind, side), asks in asked.items():
        work = {(r.operation, r.quantity): r for _, _, r in asks}
        money = {k: k[1] * _likely_money(book.operations[k[0]], rate) for k in work}
        order = sorted(work, key=money.__getitem__)
        lookups: dict[int, Lookup] = {}
        for z, condition, repair in asks:
            lookup = lookups.setdefault(z, np.zeros(len(CONDITIONS), dtype=np.intp))
            lookup[condition] = 1 + order.index((repair.operation, repair.quantity))
        jobs.append(_job(book, terms, kind, side, tuple(work[k] for k in order), lookups))
    return tuple(jobs)


def _likely_money(operation: Operation, rate: float) -> float:
    return operation.hours.likely * rate + operation.material.likely


def _job(book: Book, terms: RepairTerms, kind: str, side: str, levels: tuple[Repair, ...], lookups: dict[int, Lookup]) -> Job:
    name, group = book.jobs[kind]
    operations = [book.operations[r.operation] for r in levels]
    others = [book.operations.get(r.alternative) for r in levels]
    alternative = any(others)
    return Job(
        id=f"{kind}.{side}" if side else kind,
        name=name + (f", {dict(zip(SIDES, ('left', 'right'), strict=True))[side]}" if side else ""),
        side=side,
        group=(group, side) if group else None,
        levels=levels,
        asks=tuple(lookups.items()),
        hours=Curve.of([(o.hours, r.quantity) for o, r in zip(operations, levels, strict=True)]),
        material=Curve.of([(o.material, r.quantity * terms.per_usd) for o, r in zip(operations, levels, strict=True)]),
        other_hours=Curve.of([(o.hours if o else None, 1) for o in others]) if alternative else None,
        other_material=Curve.of([(o.material if o else None, terms.per_usd) for o in others]) if alternative else None,
    )


def _setup_asks(
    plan: Plan, book: Book, setups: Sequence[Setup], needs: list[list[tuple[Repair, ...]]]
) -> tuple[tuple[int, str, int, Floats], ...]:
    """(set-up, side, zone, share by condition) for every set-up that a zone can ask for."""
    rows = {setup.code: i for i, setup in enumerate(setups)}
    asks: dict[tuple[int, str, int], Floats] = {}

    def ask(code: str, side: str, z: int, condition: int, share: float) -> None:
        lookup = asks.setdefault((rows[code], side, z), np.zeros(len(CONDITIONS)))
        lookup[condition] = max(lookup[condition], share)

    for z, zone in enumerate(plan.zones):
        for condition, need in enumerate(needs[z]):
            for repair in need:
                operation = book.operations[repair.operation]
                for code, share in repair.setups.items():
                    ask(code, zone.side, z, condition, share)
                ask(TEARDOWN, "", z, condition, operation.teardown)
                for code in operation.finish:
                    ask(code, "", z, condition, 1.0)
    return tuple((s, side, z, lookup) for (s, side, z), lookup in asks.items())


def _panel_rows(name: str, side: str, rows: dict[str, int]) -> list[int]:
    """The panels meant by `name` seen from `side`: itself, its own side, or both sides from the centre line."""
    if name in rows:
        return [rows[name]]
    sides = (side,) if side else SIDES
    return [rows[f"{name}.{s}"] for s in sides if f"{name}.{s}" in rows]


def _panel_asks(
    plan: Plan, rows: dict[str, int], needs: list[list[tuple[Repair, ...]]]
) -> tuple[tuple[int, int, NDArray[np.bool_]], ...]:
    asks: dict[tuple[int, int], NDArray[np.bool_]] = {}
    for z, zone in enumerate(plan.zones):
        for condition, need in enumerate(needs[z]):
            for panel in {p for repair in need for name in repair.panels for p in _panel_rows(name, zone.side, rows)}:
                asks.setdefault((panel, z), np.zeros(len(CONDITIONS), dtype=np.bool_))[condition] = True
    return tuple((panel, z, lookup) for (panel, z), lookup in asks.items())
