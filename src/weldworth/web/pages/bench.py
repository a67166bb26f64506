"""Bench: every candidate by closing time, or by what attention to it is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from pathlib import Path

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

import weldworth
from weldworth.core.money import round_down
from weldworth.report.deal import even_words
from weldworth.report.numbers import money
from weldworth.web.arrivals import CANDIDATE, put_on_bench
from weldworth.web.guard import Known, TheDesk
from weldworth.web.lines import MoneyAxis, MoneyLine, axis_for, money_line
from weldworth.web.pages.candidate import missing
from weldworth.web.render import local_now, page
from weldworth.web.times import GROUPS, Closing, closing, short_day
from weldworth.workbench.bench import chosen
from weldworth.workbench.ledger import STAGES
from weldworth.workbench.lines import CandidateLine

router = APIRouter()
WIDTH = 392.0
ORDERS = (("closing", "By closing time", ""), ("worth", "By worth", " of attention"))
DEMO = Path(weldworth.__file__).parent / "demo"


@dataclass(frozen=True, slots=True)
class AskWords:
    """What is best asked for.

    what : in words. worth : after its cost, as read, "" where nothing is. more : what else is to be said. pending : whether more
    of it is being reckoned.
    """

    what: str
    worth: str = ""
    more: str = ""
    pending: bool = False


@dataclass(frozen=True)
class Row:
    """One candidate as drawn. stand : how far the price is from the ceiling. even : where the price that breaks even lies."""

    line: CandidateLine
    closing: Closing
    drawn: MoneyLine
    stand: str
    even: str
    changed: str
    attention_length: float
    ceiling: float | None
    wanted: str
    ask: AskWords


@dataclass(frozen=True)
class Group:
    """Rows under one heading."""

    name: str
    rows: tuple[Row, ...]


@router.get("/")
def bench(
    request: Request, desk: TheDesk, person: Known, q: str = "", stage: str = "", order: str = "closing", archive: bool = False
) -> Response:
    """The bench. q : words to look for in the name. stage : only candidates of this stage. archive : what was put away."""
    everyone = desk.candidates(archived=None)
    lines = [line for line in everyone if line.archived == archive]
    shown = chosen(lines, search=q, stage=stage, archived=archive, order="attention" if order == "worth" else "closes")
    now = local_now(request)
    axis = axis_for([_high(line) for line in shown], WIDTH)
    most = max((line.attention for line in shown), default=0.0)
    rows = [_row(line, axis, now, most) for line in shown]
    return page(
        request,
        "bench.html",
        title="Bench",
        place="Bench",
        groups=_by_worth(rows) if order == "worth" else _by_closing(rows),
        axis=axis,
        currency=shown[0].currency if shown else "",
        summary=_summary(lines, now, archive),
        q=q,
        stage=stage,
        order="worth" if order == "worth" else "closing",
        orders=ORDERS,
        archive=archive,
        stages=[one for one in STAGES if any(line.stage == one for line in lines)],
        pending=any(row.ask.pending or (not row.line.fresh and not row.wanted) for row in rows),
        empty=not everyone,
        none_here=not lines,
        put_away=sum(line.archived for line in everyone),
        feed=desk.last_change(),
        drawn_from=_drawn_from(everyone),
    )


@router.post("/demo")
def demo(desk: TheDesk, person: Known) -> Response:
    """Put the demo vehicles on the bench."""
    put_on_bench(desk, sorted(path.parent for path in DEMO.glob(f"*/{CANDIDATE}")), person.id)
    return RedirectResponse("/", 303)


@router.post("/c/{id}/archive")
def archive(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """Put a candidate away, or bring it back."""
    away = request.state.form.get("away", "yes") == "yes"
    view = desk.candidate(id)
    desk.record(id, "archived", {"archived": away}, person.id, view.last)
    return RedirectResponse("/" if away else f"/c/{id}/money", 303)


def _high(line: CandidateLine) -> float:
    return max(line.even.p90 if line.even else 0.0, line.ceiling or 0.0, line.price_low or 0.0)


def _row(line: CandidateLine, axis: MoneyAxis, now: datetime, most: float) -> Row:
    even = line.even
    if even is not None and even.p90 <= 0:
        even = None
    drawn = money_line(
        axis,
        even.p10 if even else None,
        even.p50 if even and even.p50 > 0 else None,
        even.p90 if even else None,
        named(line) or None,
        line.price_low,
    )
    changed = datetime.fromisoformat(line.changed_at).astimezone() if line.changed_at else None
    return Row(
        line=line,
        closing=closing(line.closes, now),
        drawn=drawn,
        stand=_stand(line),
        even=_even(line),
        changed="" if changed is None else short_day(changed, now.year) if changed.date() != now.date() else f"{changed:%H:%M}",
        attention_length=0.0 if most <= 0 else round(72 * line.attention / most, 1),
        ceiling=named(line),
        wanted=missing(line.wanted),
        ask=_ask(line),
    )


def _ask(line: CandidateLine) -> AskWords:
    """The ask that pays best by itself, and the best few together where they are worth more."""
    if line.ceiling is None:
        return AskWords("")
    if line.best_net is None:
        return AskWords("The best ask is being reckoned", pending=True)
    together = line.together_net or 0.0
    several = f"{line.together} asks together"
    if line.best_net > 0:
        more = f"; {several}: {money(together)}" if line.together > 1 and together > line.best_net else ""
        return AskWords(line.best_ask[:1].upper() + line.best_ask[1:], money(line.best_net), f"after its cost{more}")
    if line.together_net is None:
        return AskWords("No single ask pays for itself", more="several together are being reckoned", pending=True)
    if together > 0:
        return AskWords(several[:1].upper() + several[1:], money(together), "after their cost; none of them pays alone")
    return AskWords("No ask pays for itself", more="nor do several together")


def named(line: CandidateLine) -> float | None:
    """The ceiling to name, rounded down, so that rounding never spends money."""
    return None if line.ceiling is None else round_down(line.ceiling, line.currency).amount


def _stand(line: CandidateLine) -> str:
    ceiling = named(line)
    if ceiling is None:
        return ""
    if line.because == "nothing pays" or ceiling <= 0:
        return "Nothing pays"
    if line.price_low is None:
        return f"Pay no more than {money(ceiling, 50)}"
    gap = ceiling - line.price_low
    return f"{money(abs(gap))} {'under' if gap >= 0 else 'past'} the ceiling"


def _even(line: CandidateLine) -> str:
    if line.even is None:
        return ""
    words, _ = even_words([max(line.even.p10, 0.0), max(line.even.p50, 0.0), line.even.p90])
    return "breaks even " + (f"at {words}" if words[0].isdigit() else words)


def _by_closing(rows: Sequence[Row]) -> list[Group]:
    """In their order, under the headings of the clock."""
    ordered = sorted(rows, key=lambda row: GROUPS.index(row.closing.group))
    return [Group(name, tuple(found)) for name, found in groupby(ordered, key=lambda row: row.closing.group)]


def _waits(line: CandidateLine) -> bool:
    """Whether what attention to it is worth is not known yet."""
    return not line.wanted and (line.ceiling is None or _ask(line).pending)


def _by_worth(rows: Sequence[Row]) -> list[Group]:
    paying = tuple(row for row in rows if row.line.attention >= 5)
    waiting = tuple(row for row in rows if row.line.attention < 5 and _waits(row.line))
    rest = tuple(row for row in rows if row.line.attention < 5 and not _waits(row.line))
    found = (("Worth a look now", paying), ("Being weighed", waiting), ("Nothing to be gained by looking now", rest))
    groups = [Group(name, some) for name, some in found]
    return [group for group in groups if group.rows]


NUMBERS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve")


def _count(number: int) -> str:
    return NUMBERS[number] if number < len(NUMBERS) else f"{number:,}"


def _summary(lines: Sequence[CandidateLine], now: datetime, archive: bool) -> str:
    """How many there are, how many close today, how many have asks that pay; nothing of the asks while none is reckoned."""
    here = f"{_count(len(lines))} candidate{'' if len(lines) == 1 else 's'}"
    if archive:
        return f"{here} put away. They keep everything that was recorded."
    today = sum(closing(line.closes, now).group == "Closing today" for line in lines)
    asks = sum((line.best_net or 0) > 0 or (line.together_net or 0) > 0 for line in lines)
    closes = f"{_count(today)} close{'s' if today == 1 else ''} today; " if today else ""
    who = _count(asks) if asks else "None"
    pays = f"{who.lower() if closes else who} ha{'s' if asks <= 1 else 've'} asks that pay."
    if not asks and any(_waits(line) for line in lines):
        pays = f"{'asks' if closes else 'Asks'} are being reckoned."
    return f"{here}. {closes}{pays}"


def _drawn_from(lines: Sequence[CandidateLine]) -> str:
    last = max(lines, key=lambda line: line.changed_at, default=None)
    if last is None or not last.changed_at:
        return "no records yet"
    moment = datetime.fromisoformat(last.changed_at).astimezone()
    count = "1 candidate" if len(lines) == 1 else f"{len(lines):,} candidates"
    return f"{count}; the last record {short_day(moment)}, {moment:%H:%M}{' by ' + last.changed_by if last.changed_by else ''}"
