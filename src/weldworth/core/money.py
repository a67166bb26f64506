"""Exact money at the border of the simulation; inside it, plain floats in the shop's currency."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import floor, isfinite


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in hundredths of a currency. Not a tuple: adding two must never join them."""

    cents: int
    currency: str

    @property
    def amount(self) -> float:
        """The amount in whole units of the currency."""
        return self.cents / 100


def round_down(amount: float, currency: str, step: int = 50) -> Money:
    """The price to name, rounded down to `step`: rounding must never spend money. Nothing pays is 0.

    >>> round_down(4199.99, "USD")
    Money(cents=415000, currency='USD')
    >>> round_down(-3.0, "USD")
    Money(cents=0, currency='USD')
    """
    if not isfinite(amount):
        raise ValueError(f"amount {amount!r} is not a finite number")
    return Money(max(0, floor(Decimal(repr(float(amount))) / step)) * step * 100, currency)
