"""The best few asks as one message to the seller."""

from __future__ import annotations

from collections.abc import Sequence

from weldworth.asks.ask import Ask

OPENING = (
    "Hello, thank you for offering this vehicle. Before I decide, could you help me with the following? Please do only what is "
    "safe and easy for you. \u201cI cannot get near it\u201d, \u201cit is covered\u201d or \u201cI would rather not\u201d is an "
    "answer too, and nobody will ask twice."
)
CLOSING = "Thank you!"


def message(asks: Sequence[Ask]) -> str:
    """The text to send for these asks: plain words, numbered, each with its caution; empty for no ask."""
    if not asks:
        return ""
    items = [f"{number}. {ask.text}{' ' + ask.caution if ask.caution else ''}" for number, ask in enumerate(asks, start=1)]
    return "\n\n".join([OPENING, *items, CLOSING])
