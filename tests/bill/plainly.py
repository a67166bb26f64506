"""The bill the plain way: every combination of replacements priced from the conditions up, nothing kept between them.

Slow and obvious; the tests compare the bill that is quick with it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from weldworth.bill.layout import PAINT_LINES, PAINT_SETUP, TEARDOWN, Layout
from weldworth.bill.spread import Z90, Chances, Floats, Triple
from weldworth.vehicle.conditions import HOLED, MASKED, SOUND

Draws = NDArray[np.intp]
EDGE, REWORK = "edge.join", "rework"


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

    def take_over(self, other: Costing, into: Draws, which: NDArray[np.bool_]) -> None:
        """Write the columns `which` of `other` over this costing's columns `into[which]`."""
        if not which.any():
            return
        for item in fields(self):
            getattr(self, item.name)[..., into[which]] = getattr(other, item.name)[..., which]


def cost(layout: Layout, conditions: NDArray[np.intp], chances: Chances, rate: Floats, chosen: tuple[int, ...] = ()) -> Costing:
    """Cost of mending (zones, draws) `conditions` with the replacements `chosen` fitted. rate : labour, money per hour."""
    if chosen:
        conditions = conditions.copy()
        for part in chosen:
            conditions[list(layout.covers[part])] = SOUND
    level, job_hours, job_material, metalwork = _jobs(layout, conditions, chances, rate)
    edge_hours, edge_material = _edges(layout, conditions, level, chances)
    part_hours, part_material = _parts(layout, chances, chosen)
    shares = _shares(layout, conditions, chosen)
    paint_hours, paint_material = _paint(layout, conditions, chances, rate, shares, chosen)
    setup_hours, setup_material = _setups(layout, shares, chances)
    consumables = _consumables(layout, metalwork + edge_hours, chances)
    hours = job_hours.sum(axis=0) + setup_hours.sum(axis=0) + paint_hours.sum(axis=0) + edge_hours + part_hours.sum(axis=0)
    material = job_material.sum(axis=0) + setup_material.sum(axis=0) + paint_material.sum(axis=0) + edge_material
    material += part_material.sum(axis=0) + consumables
    own = np.minimum(hours, layout.terms.own_hours)
    labour = own * layout.terms.own_rate + (hours - own) * rate
    hour_price = np.divide(labour, hours, out=rate.copy(), where=hours > 0)
    return Costing(
        level=level,
        job_hours=job_hours,
        job_material=job_material,
        setup_hours=setup_hours,
        setup_material=setup_material,
        paint_hours=paint_hours,
        paint_material=paint_material,
        edge_hours=edge_hours,
        edge_material=edge_material,
        part_hours=part_hours,
        part_material=part_material,
        consumables=consumables,
        hour_price=hour_price,
        total=labour + material,
    )


def _levels(layout: Layout, conditions: NDArray[np.intp]) -> NDArray[np.intp]:
    level = np.zeros((len(layout.jobs), conditions.shape[1]), dtype=np.intp)
    for j, job in enumerate(layout.jobs):
        for zone, lookup in job.asks:
            np.maximum(level[j], lookup.take(conditions[zone], mode="clip"), out=level[j])
    return level


def _jobs(
    layout: Layout, conditions: NDArray[np.intp], chances: Chances, rate: Floats
) -> tuple[NDArray[np.intp], Floats, Floats, Floats]:
    """The operation at each job, its hours after what its work group shares, its material, and the hours of metalwork.

    The last, (draws,), is before any alternative or shared hours: it stands for the size of the job.
    """
    level = _levels(layout, conditions)
    hours, material = np.zeros(level.shape), np.zeros(level.shape)
    metalwork = np.zeros(level.shape[1])
    again_hours, again_material = _rework(layout, chances)
    for j, job in enumerate(layout.jobs):
        if not level[j].any():
            continue
        z = chances.z[j]
        hours[j], material[j] = job.hours.at(level[j], z), job.material.at(level[j], z)
        masked = np.zeros(level.shape[1], dtype=np.bool_)
        for zone, _ in job.asks:
            masked |= conditions[zone] == MASKED
        masked &= level[j] > 0
        if masked.any():
            np.multiply(hours[j], again_hours, out=hours[j], where=masked)
            np.multiply(material[j], again_material, out=material[j], where=masked)
        metalwork += hours[j]
        if job.other_hours is not None and job.other_material is not None:
            other_hours, other_material = job.other_hours.at(level[j], z), job.other_material.at(level[j], z)
            better = other_hours * rate + other_material < hours[j] * rate + material[j]
            np.copyto(hours[j], other_hours, where=better)
            np.copyto(material[j], other_material, where=better)
            np.negative(level[j], out=level[j], where=better)
    shared = layout.book.second_operation
    for members in layout.groups:
        rows = hours[list(members)]
        plain = rows.sum(axis=0)
        factor = np.divide(shared * plain + (1 - shared) * rows.max(axis=0), plain, out=np.ones_like(plain), where=plain > 0)
        hours[list(members)] = rows * factor
    return level, hours, material, metalwork


def _rework(layout: Layout, chances: Chances) -> tuple[Floats, Floats]:
    """How many times the work takes when bad work must come out first; never under once."""
    operation, z = layout.book.operations[REWORK], chances.z[layout.keys["rework"]]
    hours, material = (Triple(t.low - 1, t.likely - 1, t.high - 1) for t in (operation.hours, operation.material))
    return 1 + hours.at(z), 1 + material.at(z)


def _edges(layout: Layout, conditions: NDArray[np.intp], level: NDArray[np.intp], chances: Chances) -> tuple[Floats, Floats]:
    """Joints between two neighbouring cut-outs, both holed or masked, where no good metal is left to weld to."""
    cut = np.zeros(level.shape, dtype=np.bool_)
    for j, job in enumerate(layout.jobs):
        for zone, lookup in job.asks:
            if lookup[HOLED]:
                cut[j] |= (conditions[zone] == HOLED) | (conditions[zone] == MASKED)
    cut &= level > 0
    count = np.zeros(level.shape[1])
    for a, b in layout.edges:
        count += cut[a] & cut[b]
    operation, z = layout.book.operations[EDGE], chances.z[layout.keys["edges"]]
    return count * operation.hours.at(z), count * operation.material.at(z) * layout.terms.per_usd


def _parts(layout: Layout, chances: Chances, chosen: tuple[int, ...]) -> tuple[Floats, Floats]:
    draws = chances.z.shape[1]
    parts = layout.book.replacements
    hours, material = np.zeros((len(parts), draws)), np.zeros((len(parts), draws))
    for p in chosen:
        z = chances.z[layout.keys[parts[p].part]]
        hours[p], material[p] = parts[p].hours.at(z), parts[p].price.at(z) * layout.terms.per_usd
    return hours, material


def _shares(layout: Layout, conditions: NDArray[np.intp], chosen: tuple[int, ...]) -> Floats:
    """The share of each set-up that is needed, 0 to 1: left and right share, one side alone takes less."""
    draws = conditions.shape[1]
    asked = {side: np.zeros((len(layout.setups), draws)) for side in ("l", "r", "")}
    for setup, side, zone, lookup in layout.setup_asks:
        np.maximum(asked[side][setup], lookup.take(conditions[zone], mode="clip"), out=asked[side][setup])
    one_side = np.array([setup.one_side for setup in layout.setups])[:, None]
    more, less = np.maximum(asked["l"], asked["r"]), np.minimum(asked["l"], asked["r"])
    shares: Floats = np.maximum(asked[""], one_side * more + (1 - one_side) * less)
    rows = {setup.code: i for i, setup in enumerate(layout.setups)}
    for larger in layout.setups:
        if larger.includes:
            included = shares[rows[larger.includes]]
            np.maximum(included - shares[rows[larger.code]], 0, out=included)
    for part in chosen:
        shares[[rows[code] for code in layout.book.replacements[part].setups]] = 0
        shares[rows[TEARDOWN]] = 1
    return shares


def _setups(layout: Layout, shares: Floats, chances: Chances) -> tuple[Floats, Floats]:
    hours, material = np.zeros(shares.shape), np.zeros(shares.shape)
    for i, setup in enumerate(layout.setups):
        if shares[i].any():
            z = chances.z[layout.keys[setup.code]]
            hours[i] = shares[i] * setup.hours.at(z)
            breaks = (shares[i] > 0) & (chances.luck < setup.mishap)
            material[i] = (shares[i] * setup.material.at(z) + breaks * setup.mishap_cost) * layout.terms.per_usd
    return hours, material


def _paint(
    layout: Layout, conditions: NDArray[np.intp], chances: Chances, rate: Floats, shares: Floats, chosen: tuple[int, ...]
) -> tuple[Floats, Floats]:
    """Panels and blends, or the whole respray where cheaper; sets the paint set-up's share. Rows as PAINT_LINES."""
    draws = conditions.shape[1]
    session = shares[[setup.code for setup in layout.setups].index(PAINT_SETUP)]
    hours, material = np.zeros((3, draws)), np.zeros((3, draws))
    if layout.terms.paint == "none":
        session[:] = 0
        return hours, material
    painted = np.zeros((len(layout.panels), draws), dtype=np.bool_)
    for panel, zone, lookup in layout.panel_asks:
        painted[panel] |= lookup.take(conditions[zone], mode="clip")
    for part in chosen:
        for i, (_, panel_kind) in enumerate(layout.panels):
            painted[i] |= panel_kind.id in layout.book.replacements[part].panels
    blended = np.zeros_like(painted)
    for panel, neighbour in layout.blends:
        blended[neighbour] |= painted[panel]
    blended &= ~painted
    sizes = np.array([panel.size for _, panel in layout.panels])
    for i, (_, panel_kind) in enumerate(layout.panels):
        np.maximum(session, painted[i] * panel_kind.session, out=session)
    z = chances.z[layout.keys["paint"]]
    refinish, blend, whole = (layout.book.operations[code] for code in PAINT_LINES)
    amounts = sizes @ painted, sizes @ blended
    for row, (operation, amount) in enumerate(zip((refinish, blend), amounts, strict=True)):
        hours[row], material[row] = amount * operation.hours.at(z), amount * operation.material.at(z) * layout.terms.per_usd
    setup = layout.book.setups[PAINT_SETUP]
    setup_z = chances.z[layout.keys[PAINT_SETUP]]
    by_panel = (hours.sum(axis=0) + session * setup.hours.at(setup_z)) * rate
    by_panel += material.sum(axis=0) + session * setup.material.at(setup_z) * layout.terms.per_usd
    whole_hours, whole_material = whole.hours.at(z), whole.material.at(z) * layout.terms.per_usd
    respray = whole_hours * rate + whole_material < by_panel
    hours[:, respray] = material[:, respray] = session[respray] = 0
    hours[2, respray], material[2, respray] = whole_hours[respray], whole_material[respray]
    return hours, material


def _consumables(layout: Layout, shop_hours: Floats, chances: Chances) -> Floats:
    """Wire, gas, discs, primer, sealer, wax, clips and waste of the whole vehicle, growing with the hours of metalwork."""
    rows = layout.book.consumables
    points = np.array([hours for hours, _ in rows])
    low, likely, high = (
        np.interp(shop_hours, points, np.array([getattr(triple, name) for _, triple in rows]))
        for name in ("low", "likely", "high")
    )
    z = chances.z[layout.keys["consumables"]]
    out: Floats = likely * np.where(z < 0, likely / low, high / likely) ** (z / Z90) * (shop_hours > 0)
    return out * layout.terms.per_usd
