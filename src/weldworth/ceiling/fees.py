"""The buyer's fee as a seller or sale writes it, and as a function of the price.

Two ways of writing steps mean two things, both common practice:
- "10 % to 10,000 then 5 %": each rate holds for its own part of the price ("then");
- "250 to 5,000; 500 to 10,000; 5 % above": the step that the price falls in holds for the whole price (";").
A fee never falls as the price rises: where a schedule as written would fall at a step, the higher fee of the step
before is kept, which errs towards bidding less.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import inf, isinf
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weldworth.ceiling.amounts import CURRENCY, NUMBER, parse_amount
from weldworth.core.errors import BadInput, Problem

FloatArray = NDArray[np.float64]

FORMS: Final = (
    "none",
    "250",
    "5 %",
    "5 % + 300",
    "5 % min 250 max 7,500",
    "10 % to 10,000 then 5 %",
    "250 to 5,000; 500 to 10,000; 5 % above",
)
_MONEY = rf"{NUMBER}\s*k?"
_TERM = re.compile(rf"\s*(?:(?P<rate>{NUMBER})\s*%|(?P<flat>{_MONEY}))(?![\w.%])", re.IGNORECASE)
_PLUS = re.compile(r"\s*(?:\+|plus\b)", re.IGNORECASE)
_BOUND = re.compile(
    rf"\s*(?:(?P<least>minimum|min|at least)|(?P<most>maximum|max|at most|capped at|cap)|(?P<to>up to|to))\.?\s+(?:of\s+)?"
    rf"(?P<amount>{_MONEY})(?![\w.%])|\s*(?P<above>(?:above|over|after)\b)(?:\s+(?P<from>{_MONEY})(?![\w.%]))?",
    re.IGNORECASE,
)
_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a schedule: `flat` + `rate` on prices up to `up_to` (inclusive), held within [least, most]."""

    up_to: float
    flat: float
    rate: float
    least: float = 0.0
    most: float = inf


@dataclass(frozen=True, slots=True)
class FeeSchedule:
    """What the buyer pays on top of a price.

    text : as written.   steps : rising in `up_to`, the last one infinite.
    by_part : True when each step's rate holds only for its own part of the price; `least` and `most` of the last
    step then hold for the whole fee.
    """

    text: str
    steps: tuple[Step, ...]
    by_part: bool = False

    def fee(self, price: ArrayLike) -> FloatArray:
        """The fee at each price; same shape as `price`, which must be 0 or more. Never falls as the price rises.

        >>> parse_fee("5 % min 250 max 7,500").fee([1_000, 20_000, 400_000]).tolist()
        [250.0, 1000.0, 7500.0]
        """
        prices = np.asarray(price, dtype=np.float64)
        if not np.all(prices >= 0):
            raise ValueError("a price must be a number of 0 or more")
        fees, start, held = np.zeros_like(prices), 0.0, 0.0
        for step, offset in zip(self.steps, self._offsets(), strict=True):
            value = step.flat + offset + step.rate * prices
            if not self.by_part:
                value = np.clip(value, step.least, step.most)
            here = (prices > start) | (start == 0.0)
            fees = np.where(here, np.maximum(value, held), fees)
            if not isinf(step.up_to):
                end = step.flat + offset + step.rate * step.up_to
                held = max(held, end if self.by_part else float(np.clip(end, step.least, step.most)))
            start = step.up_to
        if self.by_part:
            fees = np.clip(fees, self.steps[-1].least, self.steps[-1].most)
        return np.asarray(fees)

    def price_from_total(self, total: ArrayLike) -> FloatArray:
        """The highest price whose price and fee together stay within `total`; 0 where even a price of 0 does not.

        >>> float(parse_fee("5 %").price_from_total(10_500))
        10000.0
        """
        totals = np.asarray(total, dtype=np.float64)
        if not np.all(np.isfinite(totals)):
            raise ValueError("a total must be a finite number")
        fixed = {0.0, *(v for s in self.steps for v in (s.least, s.most) if not isinf(v))}
        fixed |= {float(self.fee(s.up_to)) for s in self.steps if not isinf(s.up_to)}
        tries = [np.zeros_like(totals)] + [totals - amount for amount in sorted(fixed)]
        tries += [np.full_like(totals, step.up_to) for step in self.steps if not isinf(step.up_to)]
        tries += [(totals - s.flat - o) / (1 + s.rate) for s, o in zip(self.steps, self._offsets(), strict=True)]
        tried = np.maximum(np.stack(tries), 0.0)
        fits = tried + self.fee(tried) <= totals + _TOLERANCE * np.maximum(1.0, np.abs(totals))
        return np.asarray(np.where(fits, tried, 0.0).max(axis=0))

    def _offsets(self) -> list[float]:
        """What each step adds to flat + rate x whole price, so that rates by part join up at the steps."""
        offsets, start, paid = [], 0.0, 0.0
        for step in self.steps:
            offsets.append(paid - step.rate * start if self.by_part else 0.0)
            if not isinf(step.up_to):
                paid += step.flat + step.rate * (step.up_to - start)
                start = step.up_to
        return offsets


NO_FEE: Final = FeeSchedule("none", (Step(inf, 0.0, 0.0),))


def parse_fee(text: str, where: str = "buyer_fee") -> FeeSchedule:
    """The fee schedule written in `text`; see FORMS for what can be written.

    >>> parse_fee("10 % to 10,000 then 5 %").fee([8_000, 30_000]).tolist()
    [800.0, 2000.0]

    Raises BadInput with every part that cannot be read, naming it and showing the forms that work.
    """
    plain = " ".join(CURRENCY.sub(" ", text.replace("\u00a0", " ")).split())
    plain = re.sub(r"\s*\bper ?cent\b", " %", plain, flags=re.IGNORECASE).rstrip(" .;,")
    if plain.lower() in ("none", "no fee", "no"):
        return FeeSchedule(text, NO_FEE.steps)
    by_part = re.search(r"\bthen\b", plain, re.IGNORECASE) is not None
    if by_part and ";" in plain:
        raise BadInput([_problem(where, f"{text!r} has both 'then' and ';'", "use one of them")])
    parts = [part.strip(" ,") for part in (re.split(r"\bthen\b", plain, flags=re.IGNORECASE) if by_part else plain.split(";"))]
    steps: list[Step] = []
    problems: list[Problem] = []
    for number, part in enumerate(parts):
        try:
            steps.append(_step(part, steps[-1].up_to if steps else 0.0, number == len(parts) - 1))
        except ValueError as error:
            problems.append(_problem(where, *(str(cause) for cause in error.args)))
            steps.append(Step(steps[-1].up_to if steps else 0.0, 0.0, 0.0))
    if problems:
        raise BadInput(problems)
    return FeeSchedule(text, tuple(steps), by_part)


def _problem(where: str, text: str, remedy: str = "") -> Problem:
    forms = ", ".join(f"'{form}'" for form in FORMS)
    return Problem(where, f"{text}; {remedy + '; ' if remedy else ''}forms that work: {forms}")


def _step(part: str, start: float, last: bool) -> Step:
    """One part of a schedule; raises ValueError(what, remedy)."""
    flat, rate, rest = _terms(part)
    least, most, up_to = 0.0, inf, inf
    seen = set()
    while rest.strip(" ,"):
        rest = rest.lstrip(" ,")
        found = _BOUND.match(rest)
        if found is None:
            raise ValueError(f"the part {rest!r} of {part!r} cannot be read")
        kind = next(name for name in ("least", "most", "to", "above") if found[name])
        if kind in seen:
            raise ValueError(f"{part!r} says {found[kind]!r} twice")
        seen.add(kind)
        if kind == "above":
            if found["from"] and parse_amount(found["from"]) != start:
                raise ValueError(f"{part!r} starts at {found['from']} but the step before ends at {start:,.0f}")
        else:
            amount = parse_amount(found["amount"])
            least, most, up_to = (
                amount if kind == "least" else least,
                amount if kind == "most" else most,
                amount if kind == "to" else up_to,
            )
        rest = rest[found.end() :]
    if least > most:
        raise ValueError(f"{part!r} has a minimum of {least:,.0f} above its maximum of {most:,.0f}")
    if "above" in seen and "to" in seen:
        raise ValueError(f"{part!r} says both 'to' and 'above'", "give one of them")
    if isinf(up_to) and not last:
        raise ValueError(f"{part!r} does not say up to which price it holds", "add 'to 10,000'")
    if not isinf(up_to) and last:
        raise ValueError(f"{part!r} says nothing about prices above {up_to:,.0f}", "add '; 5 % above'")
    if up_to <= start:
        raise ValueError(f"{part!r} ends at {up_to:,.0f}, not above the {start:,.0f} of the step before")
    return Step(up_to, flat, rate, least, most)


def _terms(part: str) -> tuple[float, float, str]:
    """The flat amount, the rate and the text behind them at the start of `part`; raises ValueError."""
    flat, rate, rest = 0.0, 0.0, part
    while True:
        found = _TERM.match(rest)
        if found is None:
            raise ValueError(f"the part {rest.strip() or part!r} cannot be read" if rest.strip() else "a part is empty")
        if found["rate"]:
            rate += float(found["rate"].replace(",", "")) / 100
            if rate >= 1:
                raise ValueError(f"{part!r} takes 100 % of the price or more")
        else:
            flat += parse_amount(found["flat"])
        rest = rest[found.end() :]
        plus = _PLUS.match(rest)
        if plus is None:
            return flat, rate, rest
        rest = rest[plus.end() :]
