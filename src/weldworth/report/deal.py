"""Rows about the decision: the ceiling and what binds, how it adds up, the common axis, the curve over price, the resale."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from weldworth.ceiling.ceiling import break_even, curve
from weldworth.core.money import round_down
from weldworth.core.units import miles
from weldworth.report.numbers import MINUS, hundred, in_100, money, plainly, span, ticks, top_price
from weldworth.report.sheet import Axis, CurveSheet, Decision, Item, Spread
from weldworth.workbench.deal import kind_of
from weldworth.workbench.weigh import Weighing

BASIS = {"own view": "your own view", "comparables": "comparable sales", "both": "your own view and comparable sales together"}


def price_range(weighing: Weighing) -> tuple[float, float] | None:
    """The price asked or expected, lowest and highest, or None."""
    sale = weighing.dossier.sale
    if sale is None or sale.price_low is None or sale.price_high is None:
        return None
    return sale.price_low, sale.price_high


def named_ceiling(weighing: Weighing) -> float:
    """The ceiling to name: rounded down, so that rounding never spends money."""
    return round_down(weighing.ceiling.amount, weighing.terms.deal.currency).amount


def decision(weighing: Weighing) -> Decision:
    """The ceiling first, then what it rests on."""
    ceiling, deal = weighing.ceiling, weighing.terms.deal
    return Decision(
        ceiling=top_price(ceiling.amount),
        currency=deal.currency,
        advice=_advice(weighing),
        because=_because(weighing),
        at="At a price of 0" if ceiling.because == "nothing pays" else "At the ceiling",
        profit=money(ceiling.expected_profit),
        loss=in_100(ceiling.p_loss),
        loss_note=f"the shop takes at most {hundred(deal.chance_of_loss)} in 100",
        at_price=_at_price(weighing),
        binds=_binds(weighing),
        adds_up=_adds_up(weighing),
    )


def _advice(weighing: Weighing) -> str:
    """What follows from ceiling and price, one sentence."""
    top, prices, kind = named_ceiling(weighing), price_range(weighing), kind_of(weighing.dossier.sale)
    if weighing.ceiling.because == "nothing pays" or top <= 0:
        return "Walk away: no price pays on the shop's terms."
    if prices is None:
        return f"Pay no more than {money(top, 50)}."
    low, high = prices
    named = money(low) if low == high else span(low, high)
    fee = ", before the buyer's fee" if weighing.dossier.sale is not None and weighing.dossier.sale.buyer_fee else ""
    if kind == "auction":
        stand = f"{money(top - low)} under the ceiling" if low <= top else f"{money(low - top)} past the ceiling"
        return f"Bid no more than {money(top, 50)}{fee}. Expected at {named}, {stand}."
    if low <= top < high:
        return f"Worth buying up to {money(top, 50)}{fee}; the {named} asked reaches past that."
    if low <= top:
        return f"Worth buying at the {named} asked: {money(top - low)} under the ceiling{fee}."
    return f"At the {named} asked, walk away or offer {money(top, 50)}: it is {money(low - top)} past the ceiling{fee}."


def _because(weighing: Weighing) -> str:
    ceiling, deal = weighing.ceiling, weighing.terms.deal
    if ceiling.because == "margin":
        return "The profit the shop wants sets the ceiling."
    if ceiling.because == "chance of loss":
        return f"The chance of a loss, at most {hundred(deal.chance_of_loss)} in 100, sets the ceiling."
    return (
        f"Even at a price of 0 the expected profit is {money(ceiling.expected_profit)} and a loss comes {in_100(ceiling.p_loss)}."
    )


def _at_price(weighing: Weighing) -> tuple[Item, ...]:
    """Expected profit and chance of loss at the price asked or expected."""
    prices = price_range(weighing)
    if prices is None:
        return ()
    deal, kind = weighing.terms.deal, kind_of(weighing.dossier.sale)
    at = curve(weighing.net.draws, weighing.fee, deal, sorted(set(prices)), sale_kind=kind)
    rows = zip(at.prices.tolist(), at.expected_profit.tolist(), at.p_loss.tolist(), strict=True)
    return tuple(Item(f"If bought at {money(price)}", money(profit), f"loss {in_100(loss)}") for price, profit, loss in rows)


def _binds(weighing: Weighing) -> tuple[Item, ...]:
    ceiling, deal = weighing.ceiling, weighing.terms.deal
    sets = {"margin": 1, "chance of loss": 0}.get(ceiling.because)
    notes = ["has room; does not bind"] * 2 if sets is not None else ["nothing pays"] * 2
    if sets is not None:
        notes[sets] = "this sets the ceiling"
    margin = f"Profit of {hundred(deal.margin)} in 100 of all money put in, {money(deal.margin_least)} at the least"
    rows = [
        Item(f"Loss in at most {hundred(deal.chance_of_loss)} of 100", _limit(ceiling.loss_price), notes[0]),
        Item(margin, _limit(ceiling.margin_price), notes[1]),
    ]
    rivals = deal.rivals(kind_of(weighing.dossier.sale))
    if rivals:
        note = f"off the expected profit: if it goes to us, {rivals} other{'s' if rivals > 1 else ''} saw less value in it"
        rows.append(Item("Because winning tells", f"{MINUS}{money(ceiling.curse_correction)}", note))
    return tuple(rows)


def _limit(price: float) -> str:
    """The price that a limit allows; below 0 where none does."""
    return top_price(price) if price > 0 else money(price)


def _adds_up(weighing: Weighing) -> tuple[Item, ...]:
    """From the average resale to what is left to buy with."""
    deal, net, bill = weighing.terms.deal, weighing.net, weighing.bill
    left = float(np.mean(net.draws))
    resale = (left + net.spent) / (1 - deal.selling_cost)
    transport = net.spent - bill.mean - deal.fixed_costs
    far = f", {plainly(miles(weighing.distance_km), 0)} miles" if weighing.distance_km is not None else ""
    holding = f"{plainly(deal.holding_months)} months of holding"
    rows = [
        ("Resale, on average", resale),
        (f"Selling, {plainly(100 * deal.selling_cost)} in 100", -deal.selling_cost * resale),
        ("Bill, on average", -bill.mean),
        (f"Transport{far}", -transport),
        (f"Title and {holding}", -(deal.holding + deal.title_cost)),
        ("Set aside for what is not metal", -deal.mechanical_reserve),
        ("Because winning tells", -weighing.ceiling.curse_correction),
    ]
    total = left - weighing.ceiling.curse_correction
    shown = [Item(label, money(amount)) for label, amount in rows if abs(amount) >= 5]
    return (*shown, Item("Left to buy with, fee and tax included", money(total)))


def axis(weighing: Weighing) -> Axis:
    """Resale, bill and the price that breaks even on one axis, with the ceiling and the price on it."""
    bill, resale = weighing.bill, weighing.resale
    worth = np.percentile(break_even(weighing.net.draws, weighing.fee, weighing.terms.deal), (10, 50, 90))
    even = [max(0.0, float(price)) for price in worth]
    spreads = (
        Spread("Resale", resale.p10, resale.p50, resale.p90, span(resale.p10, resale.p90), f"{money(resale.p50)} most likely"),
        Spread("Bill", bill.p10, bill.p50, bill.p90, span(bill.p10, bill.p90), f"{money(bill.mean)} on average"),
        Spread("Breaks even", even[0], even[1], even[2], *even_words(even)),
    )
    prices = price_range(weighing)
    top = max([s.high for s in spreads] + list(prices or ()) + [weighing.ceiling.amount])
    marks = ticks(top)
    kind = "asked" if kind_of(weighing.dossier.sale) == "asked" else "expected"
    return Axis(
        ticks=marks,
        labels=tuple(money(mark) for mark in marks),
        spreads=spreads,
        ceiling=named_ceiling(weighing) if weighing.ceiling.because != "nothing pays" else None,
        price=prices[0] if prices else None,
        price_high=prices[1] if prices and prices[1] > prices[0] else None,
        price_text="" if prices is None else f"{kind} {money(prices[0]) if prices[0] == prices[1] else span(*prices)}",
    )


def even_words(even: Sequence[float]) -> tuple[str, str]:
    """Where the price that breaks even lies, and its middle, in words. even : P10, P50 and P90, 0 or more."""
    if even[2] < 5:
        return "at no price", "9 times in 10 at no price"
    return span(even[0], even[2]), f"{money(even[1])} in the middle"


def curve_sheet(weighing: Weighing) -> CurveSheet:
    """Expected profit and chance of loss over the price."""
    found, deal = weighing.curve, weighing.terms.deal
    profit = found.expected_profit
    low, high = min(0.0, float(profit.min())), max(0.0, float(profit.max()))
    step = ticks(max(high - low, 1.0), 5)[1]
    marks = tuple(float(step * i) for i in range(int(np.floor(low / step)), int(np.ceil(high / step - 1e-9)) + 1))
    wanted = max(deal.margin_least, deal.margin * (weighing.net.spent + weighing.ceiling.amount))
    prices = tuple(mark for mark in ticks(float(found.prices.max())) if mark <= float(found.prices.max()) * 1.0001)
    return CurveSheet(
        prices=tuple(found.prices.tolist()),
        profit=tuple(profit.tolist()),
        loss=tuple(found.p_loss.tolist()),
        limit=deal.chance_of_loss,
        limit_text=f"{hundred(deal.chance_of_loss)} in 100, the shop's limit",
        wanted=wanted,
        price_ticks=prices,
        price_labels=tuple(money(mark) for mark in prices),
        profit_ticks=marks if len(marks) > 1 else (0.0, step),
        profit_labels=tuple(money(mark) for mark in (marks if len(marks) > 1 else (0.0, step))),
    )


def resale_items(weighing: Weighing) -> tuple[Item, ...]:
    """What the finished, disclosed vehicle brings, and from what."""
    resale, deal = weighing.resale, weighing.terms.deal
    return (
        Item("Most likely", money(resale.p50), f"{span(resale.p10, resale.p90)}, 8 times in 10"),
        Item("From", BASIS[resale.basis]),
        Item("Selling takes", f"{plainly(100 * deal.selling_cost)} in 100"),
    )
