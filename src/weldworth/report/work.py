"""Rows about the bill: its spread, the work with its chances, what is charged once, whole parts, what drives the spread."""

from __future__ import annotations

from collections.abc import Sequence

from weldworth.bill.summary import Bill, Driver, Line, Offer
from weldworth.report.numbers import hundred, in_100, money, plainly, span
from weldworth.report.sheet import BillSheet, Item, WorkRow
from weldworth.vehicle.plan import Plan

MOST_LINES, MOST_ONCE, MOST_DRIVERS = 13, 9, 5
COUNTS_FROM = 0.004
"""Share of the average bill below which a line is put together with the other small ones."""
METAL = ("operation", "edges", "replacement")
PARTS = {
    "set-ups": "Set-ups that several jobs share",
    "paint": "Paint",
    "edges": "Joints between neighbouring cut-outs",
    "consumables": "What is used up",
    "replacement": "Whole parts in exchange",
    "overrun": "What turns up on the way",
}


def bill_sheet(bill: Bill, plan: Plan) -> BillSheet:
    """The bill as rows; what each line counts for sums, with the overrun, to the average bill."""
    metal = [line for line in bill.lines if line.kind in METAL]
    others = [line for line in bill.lines if line.kind not in METAL]
    estimate = sum(line.chance * line.mean for line in bill.lines)
    hours = sum(line.chance * line.hours for line in bill.lines)
    work, once = _rows(metal, bill, MOST_LINES), _rows(others, bill, MOST_ONCE)
    overrun = bill.mean - estimate
    if overrun >= 5:
        once.append(WorkRow(f"{PARTS['overrun']}, on average", 1.0, "", 0.0, 0.0, "", money(overrun)))
    limits = f"{span(bill.p10, bill.p90)}, 8 times in 10"
    drivers = [driver for driver in bill.drivers[:MOST_DRIVERS] if driver.share >= 0.01]
    return BillSheet(
        headline=f"{money(bill.mean)} on average; {limits}; under {money(bill.p80)}, 8 times in 10",
        notes=(
            f"About {plainly(hours, 0)} hours of work on average, before what turns up on the way.",
            f"Set-ups, paint and what is used up are {hundred(bill.overhead)} in 100 of the estimate.",
        ),
        work=tuple(work),
        once=tuple(once),
        total=WorkRow("Bill", 1.0, "", bill.p10, bill.p90, span(bill.p10, bill.p90), money(bill.mean)),
        top=max([row.high for row in (*work, *once)] + [1.0]),
        offers=tuple(_offer(offer) for offer in bill.offers),
        drivers=tuple(Item(_driver(driver, plan), f"{hundred(driver.share)} in 100") for driver in drivers),
        driver_shares=tuple(driver.share for driver in drivers),
    )


def _rows(lines: Sequence[Line], bill: Bill, most: int) -> list[WorkRow]:
    """The largest lines, and the rest put together in one."""
    large = [line for line in lines[:most] if line.chance * line.mean >= COUNTS_FROM * bill.mean]
    small = lines[len(large) :]
    rows = [
        WorkRow(line.name, line.chance, in_100(line.chance), line.p10, line.p90, span(line.p10, line.p90), counts(line))
        for line in large
    ]
    if small:
        rest = sum(line.chance * line.mean for line in small)
        thing = "thing" if len(small) == 1 else "things"
        rows.append(WorkRow(f"{len(small)} smaller {thing}", 0.0, "", 0.0, 0.0, "", money(rest)))
    return rows


def counts(line: Line) -> str:
    """What a line counts for: its chance times its mean."""
    return money(line.chance * line.mean)


def _driver(driver: Driver, plan: Plan) -> str:
    return plan.zone(driver.zone).label if driver.zone in plan.index else PARTS.get(driver.zone, driver.zone)


def _offer(offer: Offer) -> Item:
    sums = f"saves {money(offer.saves)} of repairs and costs {money(offer.costs)} with its labor"
    return Item(offer.name, f"cheaper in {in_100(offer.chance)}", f"{sums}. {offer.caution}".rstrip(". ") + ".")
