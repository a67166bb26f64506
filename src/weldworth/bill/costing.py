"""What the metal of each draw costs to mend, with any parts replaced: the arithmetic of the bill.

One vehicle is priced many times over, once for each combination of parts that might be replaced. What a part leaves as it is
keeps its price, so that only what it touches is worked out anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from weldworth.bill.asked import Asked, Draws, Flags, Left, asked_by, takers_of
from weldworth.bill.layout import Layout
from weldworth.bill.spread import Chances, Floats, Triple
from weldworth.bill.sundries import Beside, Number, Sundries, drawn

REWORK = "rework"


@dataclass(frozen=True, slots=True)
class Costing:
    """Hours and material of every part of the bill; one column for each draw, hours in h, material in money.

    level : the operation chosen at each job (0 none), negative where its alternative was. total : labour and material,
    before overrun. hour_price : money per hour of labour, the owner's own hours averaged in.
    """

    level: NDArray[np.int8]
    job_hours: Floats
    job_material: Floats
    setup_hours: Floats
    setup_material: Floats
    paint_hours: Floats
    paint_material: Floats
    edge_hours: Floats
    edge_material: Floats
    part_hours: Floats
    part_material: Floats
    consumables: Floats
    hour_price: Floats
    total: Floats

    def only(self, draws: Draws) -> Costing:
        """The same for these draws alone."""
        return Costing(*(getattr(self, item.name)[..., draws] for item in fields(self)))

    def put(self, other: Costing, into: Draws) -> None:
        """Write `other` over this costing's columns `into`."""
        for item in fields(self):
            getattr(self, item.name)[..., into] = getattr(other, item.name)


@dataclass(frozen=True, slots=True)
class Work:
    """The work at jobs, (jobs, draws) or one job's (draws,). worked : hours before any alternative, which stand for the size of
    the job. hours, material : of what is chosen, before what a work group shares. other : whether that is the alternative.
    """

    worked: Floats
    hours: Floats
    material: Floats
    other: Flags

    def of(self, job: int, draws: Draws | None) -> Work:
        """One job in these draws, or in all."""
        return Work(*(drawn(getattr(self, item.name)[job], draws) for item in fields(self)))


def _taken(values: NDArray[Number], draws: Draws | None) -> NDArray[Number]:
    """The same, to be written to."""
    return values.copy() if draws is None else values.take(draws, axis=-1)


class Pricing:
    """One vehicle in (zones, draws) known conditions, to be priced with any of its parts replaced.

    rate : labour, money per hour.
    """

    def __init__(self, layout: Layout, conditions: NDArray[np.intp], chances: Chances, rate: Floats) -> None:
        self.layout, self.chances, self.rate = layout, chances, rate
        self.asked: Asked = asked_by(layout, conditions)
        self.beside = Sundries(layout, chances, rate, self.asked)
        zones = takers_of(layout)
        self._takers = [frozenset().union(*(zones[zone] for zone, _ in job.asks)) for job in layout.jobs]
        grouped = {job for members in layout.groups for job in members}
        self._units = (*layout.groups, *((job,) for job in range(len(layout.jobs)) if job not in grouped))
        self._unit_takers = [frozenset().union(*(self._takers[job] for job in unit)) for unit in self._units]
        self._work = self._all_work()
        self._final = self._work.hours.copy()
        for members in layout.groups:
            self._final[list(members)] = self._sharing(self._work.hours[list(members)])
        self._sums = self._sums_by_takers()

    def costing(self, chosen: Sequence[int] = (), draws: Draws | None = None) -> Costing:
        """The whole bill with the parts `chosen` replaced, of these draws or of all. Read only where none is chosen."""
        left = self.asked.left(chosen, draws)
        taken = _taken if chosen else drawn
        hours, material = taken(self._final, draws), taken(self._work.material, draws)
        other = taken(self._work.other, draws)
        worked = _taken(self._kept(chosen)[2], draws)
        changed = self._changed(chosen, draws, left)
        for unit, takers in zip(self._units, self._unit_takers, strict=True):
            if not takers & set(chosen):
                continue
            rows = list(unit)
            raw = np.empty((len(rows), hours.shape[1]))
            for row, job in enumerate(rows):
                one = changed[job] if job in changed else self._work.of(job, draws)
                raw[row], material[job], other[job] = (0.0, 0.0, False) if one is None else (one.hours, one.material, one.other)
                worked += 0.0 if one is None else one.worked
            hours[rows] = self._sharing(raw)
        beside = self.beside.of(chosen, draws, left, other, worked)
        labour, money, hour_price = self._money(hours.sum(axis=0), material.sum(axis=0), beside, draws)
        level = left.level.astype(np.int8)
        np.negative(level, out=level, where=other)
        return Costing(
            level=level,
            job_hours=hours,
            job_material=material,
            hour_price=hour_price,
            total=labour + money,
            **{item.name: getattr(beside, item.name) for item in fields(beside)},
        )

    def total(self, chosen: Sequence[int], draws: Draws | None) -> Floats:
        """Labour and material, before overrun, with the parts `chosen` replaced, in these draws or in all; (draws,)."""
        left = self.asked.left(chosen, draws)
        other = _taken(self._work.other, draws)
        hours, material, worked = (drawn(array, draws) for array in self._kept(chosen))
        changed = self._changed(chosen, draws, left)
        shared = self.layout.book.second_operation
        for unit, takers in zip(self._units, self._unit_takers, strict=True):
            if not takers & set(chosen):
                continue
            rows = []
            for job in unit:
                one = changed[job] if job in changed else self._work.of(job, draws)
                other[job] = False if one is None else one.other
                if one is not None:
                    rows.append(one.hours)
                    material += one.material
                    worked += one.worked
            if len(rows) == 1:
                hours += rows[0]
            elif rows:
                hours += shared * np.sum(rows, axis=0) + (1 - shared) * np.max(rows, axis=0)
        more_hours, more_material = self.beside.sums(chosen, draws, left, other, worked)
        return self._labour(hours + more_hours, draws) + material + more_material

    def least(self, chosen: Sequence[int], hour: Floats) -> Floats:
        """No bill with the parts `chosen` replaced is less; (draws,). hour : less than this no hour is charged at."""
        hours, material, _ = self._kept(chosen)
        part_hours, part_material = self.beside.parts(chosen, None)
        out: Floats = (hours + part_hours.sum(axis=0)) * hour + material + part_material.sum(axis=0)
        return out

    def _changed(self, chosen: Sequence[int], draws: Draws | None, left: Left) -> dict[int, Work | None]:
        """The jobs that the parts touch: what is left to do there, None where nothing is."""
        touched = [job for job, takers in enumerate(self._takers) if takers & set(chosen)]
        return {job: self._one(job, left, draws) if left.level[job].any() else None for job in touched}

    def _all_work(self) -> Work:
        left, shape = self.asked.left(()), (len(self.layout.jobs), self.rate.size)
        found = Work(np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape, dtype=np.bool_))
        for job in range(len(self.layout.jobs)):
            if left.level[job].any():
                one = self._one(job, left, None)
                for item in fields(found):
                    getattr(found, item.name)[job] = getattr(one, item.name)
        return found

    def _one(self, number: int, left: Left, draws: Draws | None) -> Work:
        """The operation at one job, made dearer where bad work must come out first; its alternative where that is cheaper."""
        job, level, masked = self.layout.jobs[number], left.level[number].astype(np.intp), left.masked[number]
        z = drawn(self.chances.z[number], draws)
        hours, material = job.hours.at(level, z), job.material.at(level, z)
        if masked.any():
            again_hours, again_material = (drawn(array, draws) for array in self._again)
            masked = masked & (level > 0)
            np.multiply(hours, again_hours, out=hours, where=masked)
            np.multiply(material, again_material, out=material, where=masked)
        if job.other_hours is None or job.other_material is None:
            return Work(hours, hours, material, np.zeros(level.shape, dtype=np.bool_))
        rate = drawn(self.rate, draws)
        other_hours, other_material = job.other_hours.at(level, z), job.other_material.at(level, z)
        better = other_hours * rate + other_material < hours * rate + material
        return Work(hours, np.where(better, other_hours, hours), np.where(better, other_material, material), better)

    @cached_property
    def _again(self) -> tuple[Floats, Floats]:
        """How many times the work takes when bad work must come out first; never under once. Hours and material."""
        operation, z = self.layout.book.operations[REWORK], self.chances.z[self.layout.keys["rework"]]
        hours, material = (Triple(t.low - 1, t.likely - 1, t.high - 1) for t in (operation.hours, operation.material))
        return 1 + hours.at(z), 1 + material.at(z)

    def _sharing(self, rows: Floats) -> Floats:
        """The hours of a work group, (jobs, draws), strip and cleaning shared: the largest whole, the others in part."""
        shared, plain = self.layout.book.second_operation, rows.sum(axis=0)
        whole = shared * plain + (1 - shared) * rows.max(axis=0)
        out: Floats = rows * np.divide(whole, plain, out=np.ones_like(plain), where=plain > 0)
        return out

    def _sums_by_takers(self) -> dict[frozenset[int], tuple[Floats, Floats, Floats]]:
        """Hours, material and hours worked of the units that the same parts touch; each (draws,)."""
        found: dict[frozenset[int], list[int]] = {}
        for unit, takers in zip(self._units, self._unit_takers, strict=True):
            found.setdefault(takers, []).extend(unit)
        work = self._work
        return {
            takers: (self._final[jobs].sum(axis=0), work.material[jobs].sum(axis=0), work.worked[jobs].sum(axis=0))
            for takers, jobs in found.items()
        }

    def _kept(self, chosen: Sequence[int]) -> tuple[Floats, Floats, Floats]:
        """Hours, material and hours worked of what the parts `chosen` do not touch; each (draws,)."""
        kept = [sums for takers, sums in self._sums.items() if not takers & set(chosen)]
        hours, material, worked = (
            np.sum([one[i] for one in kept], axis=0) if kept else np.zeros(self.rate.size) for i in range(3)
        )
        return hours, material, worked

    def _money(self, hours: Floats, material: Floats, beside: Beside, draws: Draws | None) -> tuple[Floats, Floats, Floats]:
        """Labour and material of the jobs with all that comes beside them, and the price of an hour."""
        hours = hours + beside.setup_hours.sum(axis=0) + beside.paint_hours.sum(axis=0) + beside.edge_hours
        hours += beside.part_hours.sum(axis=0)
        material = material + beside.setup_material.sum(axis=0) + beside.paint_material.sum(axis=0) + beside.edge_material
        material += beside.part_material.sum(axis=0) + beside.consumables
        labour = self._labour(hours, draws)
        return labour, material, np.divide(labour, hours, out=drawn(self.rate, draws).copy(), where=hours > 0)

    def _labour(self, hours: Floats, draws: Draws | None) -> Floats:
        """What so many hours cost, (draws,): the owner's own at their price, the others at the rate."""
        own, terms = np.minimum(hours, self.layout.terms.own_hours), self.layout.terms
        out: Floats = own * terms.own_rate + (hours - own) * drawn(self.rate, draws)
        return out
