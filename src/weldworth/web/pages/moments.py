"""A candidate as it stood at an earlier record, beside what is known now: the figures, and the zones that moved."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from fastapi import APIRouter, Request
from starlette.responses import Response

from weldworth.belief.believe import BAD
from weldworth.ceiling.ceiling import break_even
from weldworth.report.metal import zone_row
from weldworth.report.numbers import MINUS, hundred, in_100, money, span, top_price
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import candidate_page, weighed
from weldworth.web.times import day_and_time
from weldworth.workbench.coverage import seen_zones
from weldworth.workbench.lines import Metal
from weldworth.workbench.weigh import Weighing

router = APIRouter()
MOST_MOVED = 20


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure then and now, as read; "" where there was none."""

    label: str
    then: str
    now: str


@dataclass(frozen=True, slots=True)
class Moved:
    """One zone then and now. start, end : chance in 100 of bad metal; change : in hundredths, signed."""

    id: str
    label: str
    then: str
    now: str
    start: float
    end: float
    change: str
    likely: str


def figures_beside(then: Weighing | None, now: Weighing | None) -> tuple[Figure, ...]:
    """The main figures of two moments beside each other."""
    left, right = _figures(then), _figures(now)
    return tuple(Figure(label, left.get(label, ""), right.get(label, "")) for label in dict.fromkeys([*left, *right]))


def _figures(found: Weighing | None) -> dict[str, str]:
    if found is None:
        return {}
    pays = found.ceiling.because != "nothing pays"
    even = [max(0.0, float(q)) for q in np.percentile(break_even(found.net.draws, found.fee, found.terms.deal), (10, 90))]
    return {
        "Ceiling": top_price(found.ceiling.amount) if pays else "nothing pays",
        "Expected profit there": money(found.ceiling.expected_profit) if pays else "",
        "Chance of a loss there": in_100(found.ceiling.p_loss) if pays else "",
        "Breaks even, 8 times in 10": span(even[0], even[1]),
        "Bill, on average": money(found.bill.mean),
        "Bill, 8 times in 10": span(found.bill.p10, found.bill.p90),
        "Resale, most likely": money(found.resale.p50),
        "Resale, 8 times in 10": span(found.resale.p10, found.resale.p90),
    }


def moved(then: Metal, now: Metal) -> tuple[Moved, ...]:
    """The zones whose chance of bad metal moved by a hundredth or more, furthest first."""
    found = []
    seen = seen_zones(now.belief)
    for zone in now.plan.zones:
        if zone.id not in then.plan.index:
            continue
        chances = now.belief.zones[now.plan.index[zone.id]]
        was, is_now = float(then.belief.zones[then.plan.index[zone.id], list(BAD)].sum()), float(chances[list(BAD)].sum())
        points = round(100 * (is_now - was))
        if points:
            row = zone_row(zone, chances.tolist(), zone.id in seen)
            change = f"+{points}" if points > 0 else f"{MINUS}{-points}"
            found.append(Moved(zone.id, zone.label, hundred(was), hundred(is_now), 100 * was, 100 * is_now, change, row.likely))
    return tuple(sorted(found, key=lambda one: -abs(one.end - one.start)))


@router.get("/c/{id}/diary/then/{seq}")
def then(request: Request, id: str, seq: int, desk: TheDesk, person: Known) -> Response:
    """What was believed and what it came to when `seq` was the last record, beside what is known now."""
    view = desk.candidate(id, seq)
    old, wanted = weighed(desk, id, seq)
    new, _ = weighed(desk, id)
    rows = moved(desk.metal(id, seq), desk.metal(id))
    last = view.entries[-1]
    since = [line for line in desk.diary(id) if line.entry.seq > seq]
    return candidate_page(
        request,
        desk,
        id,
        "Diary",
        "then.html",
        view=view,
        weighing=old,
        lacking=wanted,
        figures=figures_beside(old, new),
        moved=rows[:MOST_MOVED],
        more=max(0, len(rows) - MOST_MOVED),
        since=since,
        when=day_and_time(last.at.astimezone()),
        before=seq - 1,
        after=seq + 1 if seq < view.last else None,
    )
