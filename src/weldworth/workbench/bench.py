"""The bench: every candidate in one line, from what is kept, without weighing anything."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.workbench.ledger import STAGES
from weldworth.workbench.lines import CandidateLine, Deadline, Feed, FeedLine
from weldworth.workbench.ports import CandidateRow, Change, Summary
from weldworth.workbench.summary import LIVE_STAGES, AttentionTerms, amount_of, attention, closes_of, moment_of, spread_of
from weldworth.workbench.weigher import Basis

ORDERS = ("closes", "attention", "name", "changed")


def line_of(
    row: CandidateRow,
    summary: Summary | None,
    basis: Basis,
    now: datetime,
    terms: AttentionTerms,
    names: Mapping[str, str],
) -> CandidateLine:
    """One line. basis : of today, without candidate and evidence; figures that rest on something else are not fresh."""
    body = summary.body if summary else {}
    closes = closes_of(row.closes)
    wanted = replace(basis, candidate=row.id, evidence=row.evidence).key
    worth, why = attention(body, stage=row.stage, price=row.price_high, closes=closes, now=now, terms=terms)
    return CandidateLine(
        id=row.id,
        name=row.name,
        body=row.body,
        model_year=row.model_year,
        stage=row.stage,
        archived=row.archived,
        sale_kind=row.sale_kind,
        closes=closes,
        price_low=row.price_low,
        price_high=row.price_high,
        currency=str(body.get("currency", "USD")),
        ceiling=amount_of(body, "ceiling"),
        because=str(body.get("because", "")),
        expected_profit=amount_of(body, "expected_profit"),
        p_loss=amount_of(body, "p_loss"),
        even=spread_of(body, "even"),
        bill=spread_of(body, "bill"),
        resale=spread_of(body, "resale"),
        best_ask=str(body.get("best_ask", "")),
        best_net=amount_of(body, "best_net"),
        together=int(amount_of(body, "together") or 0),
        together_net=amount_of(body, "together_net"),
        attention=worth,
        attention_because=why,
        fresh=summary is not None and summary.key == wanted,
        wanted=summary.wanted if summary else "",
        weighed_on=summary.weighed_on if summary else "",
        revision=row.revision,
        changed_at=row.changed_at,
        changed_by=names.get(row.changed_by, row.changed_by),
    )


def stale(line: CandidateLine) -> bool:
    """Whether something of it is left to a quiet moment: its figures, or what its asks are worth together."""
    return not line.archived and (not line.fresh or (line.ceiling is not None and line.together_net is None))


def chosen(
    lines: Iterable[CandidateLine],
    *,
    search: str = "",
    stage: str | None = None,
    archived: bool | None = False,
    order: str = "closes",
) -> list[CandidateLine]:
    """The lines that fit, in order. Raises BadInput for an unknown stage or order."""
    problems = [Problem("order", unknown("order", order, ORDERS))] if order not in ORDERS else []
    if stage and stage not in STAGES:
        problems.append(Problem("stage", unknown("stage", stage, STAGES)))
    if problems:
        raise BadInput(problems)
    words = search.casefold().split()
    fit = [
        line
        for line in lines
        if (archived is None or line.archived == archived)
        and (not stage or line.stage == stage)
        and all(word in f"{line.name} {line.body} {line.model_year or ''} {line.stage}".casefold() for word in words)
    ]
    keys = {"closes": _by_closing, "attention": _by_attention, "name": _by_name, "changed": _by_change}
    return sorted(fit, key=keys[order], reverse=order == "changed")


def _by_closing(line: CandidateLine) -> tuple[object, ...]:
    """What is still to be decided first, by closing time; what has none after those; what is decided last."""
    live = line.stage in LIVE_STAGES
    at = moment_of(line.closes).timestamp() if line.closes is not None else float("inf")
    return (not live, at, -line.attention, line.name.casefold())


def _by_attention(line: CandidateLine) -> tuple[object, ...]:
    return (-line.attention, *_by_closing(line))


def _by_name(line: CandidateLine) -> tuple[object, ...]:
    return (line.name.casefold(), line.id)


def _by_change(line: CandidateLine) -> tuple[object, ...]:
    return (line.changed_at, line.id)


def deadlines(lines: Iterable[CandidateLine]) -> list[Deadline]:
    """What closes and when; what is decided or archived left out."""
    found = []
    for line in lines:
        if line.closes is not None and line.stage in LIVE_STAGES and not line.archived:
            if line.ceiling is None:
                text = f"not weighed yet: {line.wanted}" if line.wanted else "not weighed yet"
            elif line.because == "nothing pays":
                text = "nothing pays"
            else:
                text = f"ceiling {line.ceiling:,.0f} {line.currency}"
            found.append(Deadline(line.id, line.name, line.closes, text, line.changed_at))
    return sorted(found, key=lambda one: (moment_of(one.moment), one.candidate))


def feed(changes: Sequence[Change], since: int, names: Mapping[str, str]) -> Feed:
    """Changes with the names of who made them."""
    lines = [FeedLine(c.number, c.candidate, c.seq, c.kind, c.by, names.get(c.by, c.by), c.at) for c in changes]
    return Feed(tuple(lines), max([since, *(line.number for line in lines)]))
