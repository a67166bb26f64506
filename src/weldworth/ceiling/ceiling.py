"""The highest price at which buying still meets the shop's own terms.

Profit at price p is net - (p + fee(p)) x (1 + tax). The ceiling is the highest p at which the expected profit is at
least the wanted margin and the chance of a loss is at most the accepted one. Both are solved exactly on the draws:
the money that may go out is a mean in the one case and a draw in the other, and the fee schedule turns it into a
price.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weldworth.ceiling.fees import FeeSchedule
from weldworth.ceiling.rivals import chances_when_winning, losing_share
from weldworth.ceiling.terms import SALE_KINDS, DealTerms, SaleKind
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown

FloatArray = NDArray[np.float64]
Because = Literal["margin", "chance of loss", "nothing pays"]


@dataclass(frozen=True, slots=True)
class Net:
    """What is left of the resale price before paying for the vehicle.

    draws : (n,), money.   spent : mean of the money put in beside the purchase itself.
    """

    draws: FloatArray
    spent: float


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The highest price that still pays, in whole cents, with what it rests on; money in the terms' currency.

    expected_profit, p_loss : at `amount`, having won; where nothing pays, at a price of 0.
    because : which of the two limits binds.   margin_price, loss_price : the price each limit alone would allow.
    curse_correction : what winning against the others takes off the expected profit, 0 or more.
    """

    amount: float
    expected_profit: float
    p_loss: float
    because: Because
    margin_price: float
    loss_price: float
    curse_correction: float


@dataclass(frozen=True, slots=True)
class Curve:
    """Expected profit and chance of loss at each price, having won; arrays of one shape."""

    prices: FloatArray
    expected_profit: FloatArray
    p_loss: FloatArray


def net_before_price(resale: ArrayLike, bill: ArrayLike, transport: ArrayLike, terms: DealTerms) -> Net:
    """What is left before paying for the vehicle: resale x (1 - selling) - bill - transport - holding - reserve - title.

    resale, bill : (n,) draws, money.   transport : one amount or (n,) draws.
    """
    costs = np.asarray(bill, dtype=np.float64) + np.asarray(transport, dtype=np.float64) + terms.fixed_costs
    draws = np.asarray(resale, dtype=np.float64) * (1 - terms.selling_cost) - costs
    return Net(np.asarray(draws), float(np.mean(costs)))


def find_ceiling(net: ArrayLike, fee: FeeSchedule, terms: DealTerms, *, sale_kind: SaleKind, spent: float = 0.0) -> Ceiling:
    """The highest price at which buying still meets `terms`.

    net : (n,) draws of what is left before paying for the vehicle, as from `net_before_price`.
    spent : mean of the money put in beside the purchase, which the margin is a share of too.
    The ceiling never rises when a draw falls, when fee, tax, margin, spent or the number of others rises, or when
    the accepted chance of loss falls.

    Raises BadInput when `net` is empty or holds something that is not a finite number, or for an unknown sale kind.
    """
    values, chances = _having_won(net, terms, sale_kind)
    mean = float(values @ chances)
    share = (mean - terms.margin * max(spent, 0.0)) / (1 + terms.margin)
    margin_price = _price(min(share, mean - terms.margin_least), fee, terms)
    within = np.cumsum(chances) <= terms.chance_of_loss + 1e-12
    loss_price = _price(float(values[min(int(within.sum()), values.size - 1)]), fee, terms)
    amount = min(margin_price, loss_price)
    because: Because = "margin" if margin_price <= loss_price else "chance of loss"
    if amount <= 0:
        because = "nothing pays"
    paid = _paid(np.asarray(amount), fee, terms)
    return Ceiling(
        amount=amount,
        expected_profit=mean - float(paid),
        p_loss=float(losing_share(values, chances, paid)),
        because=because,
        margin_price=margin_price,
        loss_price=loss_price,
        curse_correction=max(0.0, float(values.mean()) - mean) if terms.rivals(sale_kind) else 0.0,
    )


def curve(net: ArrayLike, fee: FeeSchedule, terms: DealTerms, prices: ArrayLike, *, sale_kind: SaleKind) -> Curve:
    """Expected profit and chance of loss at each of `prices` (0 or more), for drawing and for asking "what if".

    Raises BadInput as `find_ceiling` does.
    """
    values, chances = _having_won(net, terms, sale_kind)
    at = np.asarray(prices, dtype=np.float64)
    paid = _paid(at, fee, terms)
    return Curve(at, np.asarray(float(values @ chances) - paid), losing_share(values, chances, paid))


def break_even(net: ArrayLike, fee: FeeSchedule, terms: DealTerms) -> FloatArray:
    """The price at which each draw of `net` neither gains nor loses, fee and tax paid; below 0, what even a gift would lose.

    net : (n,) as from `net_before_price`. Returns (n,), money.
    """
    left = np.asarray(net, dtype=np.float64)
    price = np.maximum(fee.price_from_total(np.maximum(left, 0.0) / (1 + terms.tax)), 0.0)
    return np.asarray(np.where(left > 0, price, left))


def _having_won(net: ArrayLike, terms: DealTerms, sale_kind: SaleKind) -> tuple[FloatArray, FloatArray]:
    """The draws sorted, and their chances having won against the others."""
    draws = np.asarray(net, dtype=np.float64)
    problems = []
    if draws.ndim != 1 or draws.size == 0 or not np.all(np.isfinite(draws)):
        problems.append(Problem("net", f"shape {draws.shape}; give a row of at least one finite number"))
    if sale_kind not in SALE_KINDS:
        problems.append(Problem("sale kind", unknown("kind", str(sale_kind), SALE_KINDS)))
    if problems:
        raise BadInput(problems)
    return np.sort(draws), chances_when_winning(draws.size, terms.rivals(sale_kind), terms.resolved_share)


def _paid(price: FloatArray, fee: FeeSchedule, terms: DealTerms) -> FloatArray:
    """What the purchase takes in all: price, fee and the tax on both."""
    return np.asarray((price + fee.fee(price)) * (1 + terms.tax))


def _price(budget: float, fee: FeeSchedule, terms: DealTerms) -> float:
    """The highest price in whole cents whose price, fee and tax stay within `budget`; 0 when none does."""
    price = float(fee.price_from_total(budget / (1 + terms.tax)))
    return max(0.0, floor(price * 100 + 1e-4) / 100)
