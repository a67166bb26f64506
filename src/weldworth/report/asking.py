"""Rows about the asks, and the best few as one message to the seller."""

from __future__ import annotations

from weldworth.asks.ask import Ask
from weldworth.asks.rank import Ranking
from weldworth.report.numbers import decides, money
from weldworth.report.sheet import AskRow, AskSheet
from weldworth.workbench.message import message

MOST_ASKS = 12
NOTHING = "Nothing left that would pay for itself."
TOGETHER = "No ask pays for itself; these few together do, for together they may turn the decision."


def ask_row(ask: Ask) -> AskRow:
    """One ask."""
    return AskRow(
        kind=ask.kind,
        about=ask.label,
        worth=ask.worth,
        cost=ask.cost,
        worth_text=money(ask.worth),
        cost_text=money(ask.cost, 1),
        decides=decides(ask.changes),
        text=ask.text,
        caution=ask.caution,
    )


def ask_sheet(ranking: Ranking) -> AskSheet:
    """The asks that are worth more than they cost, the best few together, and the message for them."""
    paying = [ask for ask in ranking.asks if ask.net > 0]
    shown, rest = paying[:MOST_ASKS], len(ranking.asks) - min(len(paying), MOST_ASKS)
    best, worths = ranking.best.asks, ranking.best.worth
    alone = sum(ask.worth for ask in best)
    cost = sum(ask.cost for ask in best)
    words = ""
    if best:
        words = f"{money(worths[-1])} together; {money(alone)} if each stood alone; asking costs {money(cost, 1)}."
    summary = f"Knowing everything about the metal would be worth {money(ranking.perfect)}."
    if not paying:
        summary = f"{summary} {TOGETHER}" if best else NOTHING
    return AskSheet(
        summary=summary,
        ranked=tuple(ask_row(ask) for ask in shown),
        left_out=f"{rest} more would bring less, or less than they cost." if rest else "",
        best=tuple(ask_row(ask) for ask in best),
        joint=tuple(money(worth) for worth in worths),
        joint_words=words,
        message=message(best),
    )
