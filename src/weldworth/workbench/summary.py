"""A weighing in figures by name: what the bench keeps, what a snapshot holds, and what is worth attention."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from math import exp, isclose
from typing import cast

import numpy as np
from scipy.special import ndtri

from weldworth.asks.ask import AskSet
from weldworth.ceiling.ceiling import break_even
from weldworth.core.errors import BadInput, Problem
from weldworth.tables.load import Tables
from weldworth.workbench.ledger import Json
from weldworth.workbench.lines import Spread
from weldworth.workbench.weigh import Weighing

ALIKE = 1e-9
EIGHT_IN_TEN = 2 * float(ndtri(0.9))
"""From P10 to P90 of a normal distribution, in standard deviations."""
LIVE_STAGES = ("watched", "asked", "bid")
"""Stages in which attention can still change what is paid."""


def figures(weighing: Weighing) -> dict[str, object]:
    """The main figures as JSON: those of the money and those of the single asks."""
    return {**money_figures(weighing), **ask_figures(weighing)}


def money_figures(weighing: Weighing) -> dict[str, object]:
    """The figures that need no ask judged: money in `currency`, shares 0..1. `even` is the price that breaks even."""
    ceiling, bill, resale = weighing.ceiling, weighing.bill, weighing.resale
    even = break_even(weighing.net.draws, weighing.fee, weighing.terms.deal)
    return {
        "currency": weighing.terms.deal.currency,
        "ceiling": ceiling.amount,
        "because": ceiling.because,
        "expected_profit": ceiling.expected_profit,
        "p_loss": ceiling.p_loss,
        "even": [float(q) for q in np.percentile(even, (10, 50, 90))],
        "bill": [bill.p10, bill.p50, bill.p90],
        "bill_mean": bill.mean,
        "bill_p80": bill.p80,
        "resale": [float(resale.p10), float(resale.p50), float(resale.p90)],
        "spent": weighing.net.spent,
    }


def ask_figures(weighing: Weighing) -> dict[str, object]:
    """The single ask worth most after its cost, and how many pay by themselves."""
    paying = [ask for ask in weighing.ranking.asks if ask.net > 0]
    return {
        "best_ask": paying[0].label if paying else "",
        "best_key": key_of_ask(paying[0].kind, paying[0].zone) if paying else "",
        "best_net": paying[0].net if paying else 0.0,
        "asks_paying": len(paying),
    }


def set_figures(best: AskSet) -> dict[str, object]:
    """How many asks are best put together, and what they are worth after their cost."""
    return {"together": len(best.asks), "together_net": best.net}


def whole_figures(weighing: Weighing) -> dict[str, object]:
    """The main figures, and the belief of every zone in the order of the conditions: what a snapshot keeps."""
    zones = zip(weighing.plan.zones, weighing.belief.zones.tolist(), strict=True)
    return {**figures(weighing), "belief": {zone.id: chances for zone, chances in zones}}


def key_of_ask(kind: str, zone: str) -> str:
    """How an ask is named in forms and entries: kind:zone."""
    return f"{kind}:{zone}"


def differing(then: Json, now: Json) -> tuple[str, ...]:
    """Names of the figures that differ by more than one part in 10^9, or that only one of the two has."""
    names = sorted({*then, *now})
    return tuple(name for name in names if name not in then or name not in now or not _alike(then[name], now[name]))


def _alike(a: object, b: object) -> bool:
    if isinstance(a, Mapping) and isinstance(b, Mapping):
        return a.keys() == b.keys() and all(_alike(a[key], b[key]) for key in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(map(_alike, a, b))
    if isinstance(a, int | float) and isinstance(b, int | float):
        return isclose(a, b, rel_tol=ALIKE, abs_tol=ALIKE)
    return a == b


def amount_of(body: Json, name: str) -> float | None:
    """One amount of a summary, or None where it has none."""
    found = body.get(name)
    return float(found) if isinstance(found, int | float) else None


def spread_of(body: Json, name: str) -> Spread | None:
    """Three quantiles of one amount of a summary, or None where it has none."""
    found = body.get(name)
    return Spread(*(float(value) for value in found)) if isinstance(found, list) and len(found) == 3 else None


@dataclass(frozen=True, slots=True)
class AttentionTerms:
    """The numbers of attention.csv: see docs/desk.md."""

    near_share: float
    half_days: float
    least_urgency: float
    undated_urgency: float


def attention_terms(tables: Tables) -> AttentionTerms:
    """Read attention.csv; raises BadInput where a row is missing or out of bounds."""
    rows = {row.text("name"): row for row in tables.rows("attention.csv", ("name", "value", "unit"))}
    names = ("near_share", "half_days", "least_urgency", "undated_urgency")
    missing = [Problem("attention.csv", f"row {name!r} is missing") for name in names if name not in rows]
    if missing:
        raise BadInput(missing)
    share, half, least, undated = (rows[name].number("value", low=0) for name in names)
    if half <= 0:
        raise BadInput([Problem(rows["half_days"].where, "half_days is 0; give a number of days above 0")])
    return AttentionTerms(share, half, least, undated)


def attention(
    body: Json,
    *,
    stage: str,
    price: float | None,
    closes: date | datetime | None,
    now: datetime,
    terms: AttentionTerms,
) -> tuple[float, str]:
    """What attention to a candidate is worth now, money, and why.

    The greater of what the best asks are worth after their cost, singly or together, and a share of what is at stake where price
    and ceiling lie near each other, times an urgency that halves with every `half_days` until it closes. Nothing once it has
    closed or is decided.
    """
    if stage not in LIVE_STAGES or "ceiling" not in body:
        return 0.0, "" if stage in LIVE_STAGES else f"{stage}: decided"
    if closes is not None and moment_of(closes) < now:
        return 0.0, "has closed"
    single, together = (amount_of(body, name) or 0.0 for name in ("best_net", "together_net"))
    best = max(single, together)
    near = 0.0
    even = spread_of(body, "even")
    if price is not None and even is not None and body.get("because") != "nothing pays":
        width = max((even.p90 - even.p10) / EIGHT_IN_TEN, 1.0)
        gap = (price - float(cast(float, body["ceiling"]))) / width
        near = terms.near_share * width * exp(-0.5 * gap * gap)
    urgency, when = terms.undated_urgency, "no closing time"
    if closes is not None:
        days = (moment_of(closes) - now) / timedelta(days=1)
        urgency = terms.least_urgency + (1 - terms.least_urgency) * 0.5 ** (days / terms.half_days)
        left = (moment_of(closes).astimezone().date() - now.astimezone().date()).days
        when = f"closes in {left} days" if days >= 2 else f"closes in {days * 24:.0f} hours"
    what = "price near the ceiling" if near >= 1 else ""
    if best >= near and best > 0:
        what = f"best ask: {body.get('best_ask', '')}" if single >= together else f"{body.get('together')} asks together"
    return max(best, near) * urgency, f"{what}, {when}" if what else when


def moment_of(closes: date | datetime) -> datetime:
    """The moment of closing: a day ends with its last minute; a time without a zone is this machine's own, as it is shown."""
    moment = closes if isinstance(closes, datetime) else datetime.combine(closes, time(23, 59))
    return moment if moment.tzinfo else moment.astimezone()


def closes_of(text: str | None) -> date | datetime | None:
    """The closing day or moment as it is recorded."""
    if not text:
        return None
    try:
        return date.fromisoformat(text) if len(text) == 10 else datetime.fromisoformat(text)
    except ValueError:
        return None
