"""From a weighing to its sheet: the one place where the parts of a report are put together."""

from __future__ import annotations

from calendar import month_name
from datetime import date, datetime

from weldworth.core.units import miles
from weldworth.report.asking import ask_sheet
from weldworth.report.cautions import NOT_AN_APPRAISAL, STRUCTURE, cautions
from weldworth.report.deal import axis, curve_sheet, decision, price_range, resale_items
from weldworth.report.metal import evidence, exposure_items, repair_items, stations, stretch_rows, zone_rows
from weldworth.report.numbers import money, plainly, span
from weldworth.report.sheet import Item, Sheet, ZoneRow
from weldworth.report.work import bill_sheet
from weldworth.tables import Tables
from weldworth.vehicle.number import NumberReport
from weldworth.workbench.weigh import Weighing

TOLD_ELSEWHERE = ("unseen-sentinel",)
METHOD = (
    "Belief: the six conditions of every zone given everything recorded, exact by quadrature over what zones share. Bill: the "
    "belief's joint draws, mended operation by operation, shared set-ups charged once, overrun included. Ceiling: the highest "
    "price at which the expected profit and the chance of a loss both meet the shop's terms. Worth of an ask: expected gain in "
    "that decision before its cost. The same records, tables, day and seed give the same figures."
)


def sheet(weighing: Weighing, tables: Tables, *, worst: int = 8) -> Sheet:
    """The report of one weighing. worst : how many of the worst and of the least known zones to list."""
    rows = zone_rows(weighing)
    bill = bill_sheet(weighing.bill, weighing.plan)
    record = evidence(weighing, tables)
    by_badness = sorted(rows, key=lambda row: (-row.bad, row.id))
    listed = {row.id for row in by_badness[:worst]}
    unknown = sorted((row for row in rows if not row.seen and row.structural and row.id not in listed), key=_unknown)
    seldom = tuple(remark for remark in weighing.remarks if remark.code not in TOLD_ELSEWHERE)
    return Sheet(
        title=weighing.dossier.vehicle.name,
        subtitle=_subtitle(weighing),
        sale=_sale(weighing),
        weighed_on=_day(weighing.weighed_on),
        identity=_identity(weighing),
        number_words=weighing.number.words if weighing.number else (),
        decision=decision(weighing),
        axis=axis(weighing),
        curve=curve_sheet(weighing),
        evidence=record,
        stations=stations(rows),
        worst=tuple(by_badness[:worst]),
        unknown=tuple(unknown[:worst]),
        repair=repair_items(weighing, tables),
        bill=bill,
        stretches=stretch_rows(weighing.exposure),
        exposure=exposure_items(weighing.exposure),
        resale=resale_items(weighing),
        asks=ask_sheet(weighing.ranking),
        remarks=tuple(Item(remark.about, remark.code, remark.text) for remark in seldom),
        cautions=cautions((zone.kind for zone in weighing.plan.zones), (line.code for line in weighing.bill.lines)),
        method=METHOD,
        block=(
            Item("Drawn from", record.counts),
            Item("Recompute with", f"tables {weighing.tables}, seed {weighing.seed}, day {weighing.weighed_on.isoformat()}"),
            Item("What this is not", f"{NOT_AN_APPRAISAL} {STRUCTURE}"),
        ),
    )


def _unknown(row: ZoneRow) -> tuple[int, float, str]:
    """Least known first: the most hatched, then those nearest to even odds of bad metal."""
    return -row.hatch, abs(row.bad - 0.5), row.id


def number_verdict(report: NumberReport) -> str:
    """A few words on a vehicle number; `words` of the report has the sentences."""
    if report.form != "17-character":
        return "the maker's own form, no verdict"
    if report.passes is None:
        return "17 characters, cannot be checked as read"
    return "17 characters, check digit right" if report.passes else "17 characters, check digit wrong"


def _subtitle(weighing: Weighing) -> str:
    vehicle = weighing.dossier.vehicle
    parts = [weighing.plan.name]
    parts += [f"model year {vehicle.model_year}"] if vehicle.model_year is not None else []
    parts += [_odometer(weighing)] if vehicle.odometer is not None else []
    return ", ".join(parts)


def _odometer(weighing: Weighing) -> str:
    vehicle = weighing.dossier.vehicle
    return f"odometer reads {plainly(vehicle.odometer or 0.0, 0)} {vehicle.odometer_unit}"


def _identity(weighing: Weighing) -> tuple[Item, ...]:
    vehicle = weighing.dossier.vehicle
    items = [Item("Body", weighing.plan.name)]
    if weighing.number is not None:
        items.append(Item("Number", weighing.number.as_given.strip(), number_verdict(weighing.number)))
    else:
        items.append(Item("Number", "not given"))
    items.append(Item("Model year", str(vehicle.model_year) if vehicle.model_year is not None else "not given"))
    if vehicle.odometer is not None:
        items.append(
            Item("Odometer", f"{plainly(vehicle.odometer, 0)} {vehicle.odometer_unit}", "as it reads, never what it has done")
        )
    if vehicle.options:
        items.append(Item("Options", ", ".join(vehicle.options)))
    return tuple(items)


def _sale(weighing: Weighing) -> str:
    """How it is sold, in one line."""
    sale = weighing.dossier.sale
    if sale is None:
        return "No sale is described; an asked price is assumed."
    prices = price_range(weighing)
    named = "" if prices is None else money(prices[0]) if prices[0] == prices[1] else span(*prices)
    parts = [f"Auction{', expected at ' + named if named else ''}" if sale.kind == "auction" else f"Asked {named}".strip()]
    if sale.closes is not None:
        parts.append(f"closes {_day(sale.closes)}")
    if sale.buyer_fee:
        parts.append(f"buyer's fee {sale.buyer_fee}")
    if sale.seller_place:
        parts.append(f"at {sale.seller_place}")
    if weighing.distance_km is not None:
        parts.append(f"about {plainly(miles(weighing.distance_km), 0)} miles by road")
    return "; ".join(parts)


def _day(day: date | datetime) -> str:
    """25 November 2026, with the time where there is one."""
    text = f"{day.day} {month_name[day.month]} {day.year}"
    return f"{text}, {day:%H:%M}" if isinstance(day, datetime) else text
