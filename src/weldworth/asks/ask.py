"""One thing still missing, what it is worth in money, and the words to send for it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Ask:
    """A picture, question, reading or visit that is still missing.

    kind : picture, question, reading, visit. zone : zone or place it is about, or the question's or visit's id.
    worth : expected gain in the decision before its cost, money. cost : of asking, money. changes : how often it would
    change the decision, 0..1. text : what to send, with how to take the picture. caution : what to mind where it is done, or "".
    """

    kind: str
    zone: str
    label: str
    worth: float
    cost: float
    changes: float
    text: str
    caution: str

    @property
    def net(self) -> float:
        """Worth after cost, money."""
        return self.worth - self.cost


@dataclass(frozen=True, slots=True)
class AskSet:
    """The best few asks together.

    asks : in the order chosen. worth : joint worth after each, money: less than the sum of the single ones where they overlap.
    """

    asks: tuple[Ask, ...]
    worth: tuple[float, ...]

    @property
    def net(self) -> float:
        """Worth of all together after their cost, money; 0 where there are none."""
        return self.worth[-1] - sum(ask.cost for ask in self.asks) if self.asks else 0.0
