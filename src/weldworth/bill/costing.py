"""What the metal of each draw costs to mend, with any parts replaced: the arithmetic of the bill.

One vehicle is priced many times over, once for each combination of parts that might be replaced. What a part leaves as it is
keeps its price, so that only what it touches is worked out anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from weldworth.bill.asked import Asked, Draws, Flags, Left, asked_by, takers_of
from weldworth.bill.layout import PAINT_LINES, PAINT_SETUP, TEARDOWN, Layout
from weldworth.bill.spread import Z90, Chances, Floats, Triple

EDGE, REWORK = "edge.join", "rework"
Number = TypeVar("Number", bound=np.generic)


@dataclass(frozen=True, slots=True)
class Costing:
    """Hours and material of every part of the bill; one column for each draw, hours in h, material in money.

    level : the operation chosen at each job (0 none), negative where its alternative was. total : labour and material,
    before overrun. hour_price : money per hour of labour, the owner's own hours averaged in.
    """

    level: NDArray[np.intp]
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
        return Work(*(_drawn(getattr(self, item.name)[job], draws) for item in fields(self)))


@dataclass(frozen=True, slots=True)
class Beside:
    """What comes beside the jobs, (lines, draws) or (draws,)."""

    edge_hours: Floats
    edge_material: Floats
    setup_hours: Floats
    setup_material: Floats
    paint_hours: Floats
    paint_material: Floats
    part_hours: Floats
    part_material: Floats
    consumables: Floats


def _drawn(values: NDArray[Number], draws: Draws | None) -> NDArray[Number]:
    """The columns of these draws; all of them as they stand, not to be written to, where `draws` is None."""
    return values if draws is None else values.take(draws, axis=-1)


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
        """The whole bill with the parts `chosen` replaced, of these draws or of all."""
        left = self.asked.left(chosen, draws)
        hours, material = _taken(self._final, draws), _taken(self._work.material, draws)
        other = _taken(self._work.other, draws)
        worked = np.zeros(hours.shape[1])
        changed = self._changed(chosen, draws, left)
        for unit, takers in zip(self._units, self._unit_takers, strict=True):
            if not takers & set(chosen):
                worked += _drawn(self._work.worked[list(unit)], draws).sum(axis=0)
                continue
            rows = list(unit)
            raw = np.empty((len(rows), hours.shape[1]))
            for row, job in enumerate(rows):
                one = changed[job] if job in changed else self._work.of(job, draws)
                raw[row], material[job], other[job] = (0.0, 0.0, False) if one is None else (one.hours, one.material, one.other)
                worked += 0.0 if one is None else one.worked
            hours[rows] = self._sharing(raw)
        beside = self._beside(chosen, draws, left, other, worked)
        labour, money, hour_price = self._money(hours.sum(axis=0), material.sum(axis=0), beside, draws)
        level = left.level.astype(np.intp)
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
        hours, material, worked = (_drawn(array, draws) for array in self._kept(chosen))
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
        labour, money, _ = self._money(hours, material, self._beside(chosen, draws, left, other, worked), draws)
        return labour + money

    def least(self, chosen: Sequence[int], hour: Floats) -> Floats:
        """No bill with the parts `chosen` replaced is less; (draws,). hour : less than this no hour is charged at."""
        hours, material, _ = self._kept(chosen)
        part_hours, part_material = self.parts(chosen, None)
        out: Floats = (hours + part_hours.sum(axis=0)) * hour + material + part_material.sum(axis=0)
        return out

    def parts(self, chosen: Sequence[int], draws: Draws | None) -> tuple[Floats, Floats]:
        """Hours and price of the parts `chosen`, (replacements, draws); 0 for the others."""
        shape = (len(self._parts), self.rate.size if draws is None else draws.size)
        hours, material = np.zeros(shape), np.zeros(shape)
        for p in chosen:
            hours[p], material[p] = (_drawn(array, draws) for array in self._parts[p])
        return hours, material

    @cached_property
    def _parts(self) -> list[tuple[Floats, Floats]]:
        """Hours and price of each part in every draw."""
        layout = self.layout
        drawn = [(part, self.chances.z[layout.keys[part.part]]) for part in layout.book.replacements]
        return [(part.hours.at(z), part.price.at(z) * layout.terms.per_usd) for part, z in drawn]

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
        z = _drawn(self.chances.z[number], draws)
        hours, material = job.hours.at(level, z), job.material.at(level, z)
        if masked.any():
            again_hours, again_material = (_drawn(array, draws) for array in self._again)
            masked = masked & (level > 0)
            np.multiply(hours, again_hours, out=hours, where=masked)
            np.multiply(material, again_material, out=material, where=masked)
        if job.other_hours is None or job.other_material is None:
            return Work(hours, hours, material, np.zeros(level.shape, dtype=np.bool_))
        rate = _drawn(self.rate, draws)
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
        terms, rate = self.layout.terms, _drawn(self.rate, draws)
        hours = hours + beside.setup_hours.sum(axis=0) + beside.paint_hours.sum(axis=0) + beside.edge_hours
        hours += beside.part_hours.sum(axis=0)
        material = material + beside.setup_material.sum(axis=0) + beside.paint_material.sum(axis=0) + beside.edge_material
        material += beside.part_material.sum(axis=0) + beside.consumables
        own = np.minimum(hours, terms.own_hours)
        labour = own * terms.own_rate + (hours - own) * rate
        return labour, material, np.divide(labour, hours, out=rate.copy(), where=hours > 0)

    def _beside(self, chosen: Sequence[int], draws: Draws | None, left: Left, other: Flags, worked: Floats) -> Beside:
        edge_hours, edge_material = self._edges(left, other, draws)
        shares = self._shares(chosen, left)
        paint_hours, paint_material = self._paint(chosen, left, shares, draws)
        setup_hours, setup_material = self._setups(shares, draws)
        consumables = self._consumables(worked + edge_hours, draws)
        parts = self.parts(chosen, draws)
        return Beside(edge_hours, edge_material, setup_hours, setup_material, paint_hours, paint_material, *parts, consumables)

    def _edges(self, left: Left, other: Flags, draws: Draws | None) -> tuple[Floats, Floats]:
        """Joints between two neighbouring cut-outs, both holed or masked, where no good metal is left to weld to."""
        cut = left.cut & (left.level > 0) & ~other
        count = np.zeros(cut.shape[1])
        for a, b in self.layout.edges:
            count += cut[a] & cut[b]
        hours, material = self._figures("edges", EDGE)
        return count * _drawn(hours, draws), count * _drawn(material, draws)

    def _figures(self, key: str, code: str) -> tuple[Floats, Floats]:
        """Hours and material of an operation or set-up in every draw, by the chances of `key`; found once."""
        if (key, code) not in self._found:
            book, z = self.layout.book, self.chances.z[self.layout.keys[key]]
            one = book.operations[code] if code in book.operations else book.setups[code]
            self._found[(key, code)] = (one.hours.at(z), one.material.at(z) * self.layout.terms.per_usd)
        return self._found[(key, code)]

    @cached_property
    def _found(self) -> dict[tuple[str, str], tuple[Floats, Floats]]:
        return {}

    def _shares(self, chosen: Sequence[int], left: Left) -> Floats:
        """The share of each set-up that is needed, 0 to 1: left and right share, one side alone takes less."""
        layout, shares = self.layout, np.zeros((len(self.layout.setups), left.share.shape[1]))
        sided: dict[int, list[Floats]] = {}
        for codes, (setup, side) in zip(left.share, self.asked.rows, strict=True):
            if not codes.any():
                continue
            values = self.asked.shares.take(codes)
            if side:
                sided.setdefault(setup, []).append(values)
            else:
                shares[setup] = values
        for setup, values in sided.items():
            one_side = layout.setups[setup].one_side
            more = (
                one_side * values[0]
                if len(values) == 1
                else one_side * np.maximum(*values) + (1 - one_side) * np.minimum(*values)
            )
            np.maximum(shares[setup], more, out=shares[setup])
        rows = {setup.code: i for i, setup in enumerate(layout.setups)}
        for larger in layout.setups:
            if larger.includes:
                included = shares[rows[larger.includes]]
                np.maximum(included - shares[rows[larger.code]], 0, out=included)
        for part in chosen:
            shares[[rows[code] for code in layout.book.replacements[part].setups]] = 0
            shares[rows[TEARDOWN]] = 1
        return shares

    def _setups(self, shares: Floats, draws: Draws | None) -> tuple[Floats, Floats]:
        layout, luck = self.layout, _drawn(self.chances.luck, draws)
        hours, material = np.zeros(shares.shape), np.zeros(shares.shape)
        for i, setup in enumerate(layout.setups):
            if not shares[i].any():
                continue
            each_hours, each_material = self._figures(setup.code, setup.code)
            np.multiply(shares[i], _drawn(each_hours, draws), out=hours[i])
            np.multiply(shares[i], _drawn(each_material, draws), out=material[i])
            if setup.mishap > 0:
                material[i] += ((shares[i] > 0) & (luck < setup.mishap)) * (setup.mishap_cost * layout.terms.per_usd)
        return hours, material

    def _paint(self, chosen: Sequence[int], left: Left, shares: Floats, draws: Draws | None) -> tuple[Floats, Floats]:
        """Panels and blends, or the whole respray where cheaper; sets the paint set-up's share. Rows as PAINT_LINES."""
        layout, rate = self.layout, _drawn(self.rate, draws)
        session = shares[[setup.code for setup in layout.setups].index(PAINT_SETUP)]
        hours, material = np.zeros((3, rate.size)), np.zeros((3, rate.size))
        if layout.terms.paint == "none":
            session[:] = 0
            return hours, material
        painted = left.painted.copy()
        for part in chosen:
            for i, (_, panel) in enumerate(layout.panels):
                painted[i] |= panel.id in layout.book.replacements[part].panels
        blended = np.zeros_like(painted)
        for panel_row, neighbour in layout.blends:
            blended[neighbour] |= painted[panel_row]
        blended &= ~painted
        sizes = np.array([panel.size for _, panel in layout.panels])
        for i, (_, panel) in enumerate(layout.panels):
            if not painted[i].any():
                continue
            np.maximum(session, painted[i] * panel.session, out=session)
        refinish, blend, whole = PAINT_LINES
        for row, (code, areas) in enumerate(((refinish, painted), (blend, blended))):
            amount = sizes @ areas
            for out, figures in zip((hours, material), self._figures("paint", code), strict=True):
                np.multiply(amount, _drawn(figures, draws), out=out[row])
        setup_hours, setup_material = (_drawn(array, draws) for array in self._figures(PAINT_SETUP, PAINT_SETUP))
        by_panel = (hours.sum(axis=0) + session * setup_hours) * rate + material.sum(axis=0) + session * setup_material
        whole_hours, whole_material = (_drawn(array, draws) for array in self._figures("paint", whole))
        respray = whole_hours * rate + whole_material < by_panel
        hours[:, respray] = material[:, respray] = session[respray] = 0
        hours[2, respray], material[2, respray] = whole_hours[respray], whole_material[respray]
        return hours, material

    def _consumables(self, shop_hours: Floats, draws: Draws | None) -> Floats:
        """Wire, gas, discs, primer, sealer, wax, clips and waste of the whole vehicle, growing with the hours of metalwork."""
        rows = self.layout.book.consumables
        points = np.array([hours for hours, _ in rows])
        low, likely, high = (
            np.interp(shop_hours, points, np.array([getattr(triple, name) for _, triple in rows]))
            for name in ("low", "likely", "high")
        )
        z = _drawn(self.chances.z[self.layout.keys["consumables"]], draws)
        out: Floats = likely * np.where(z < 0, likely / low, high / likely) ** (z / Z90) * (shop_hours > 0)
        return out * self.layout.terms.per_usd
