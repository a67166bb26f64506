"""Numbers as people read them: money with its thousands parted, chances out of 100, sizes of a move in words."""

from __future__ import annotations

from math import exp, isfinite

import numpy as np
from numpy.typing import ArrayLike

from weldworth.core.money import round_down

MINUS = "\u2212"


def money(amount: float, step: int = 10) -> str:
    """The amount rounded to `step`, thousands parted by commas, with a true minus sign.

    >>> money(4186.0), money(-57195.4, 50), money(3.0)
    ('4,190', '−57,200', '0')
    """
    rounded = round(amount / step) * step
    return f"{MINUS if rounded < 0 else ''}{abs(rounded):,}"


def top_price(amount: float) -> str:
    """A price that is not to be passed, such as a ceiling: rounded down to 50, so that rounding never spends money.

    >>> top_price(18143.0), top_price(-3.0)
    ('18,100', '0')
    """
    return money(round_down(amount, "").amount, 50)


def span(low: float, high: float, step: int = 10) -> str:
    """The limits between which it lies.

    >>> span(3698.0, 9070.0)
    '3,700 to 9,070'
    """
    return f"{money(low, step)} to {money(high, step)}"


def hundred(chance: float) -> str:
    """A chance as a count out of 100; never 0 or 100 for what is not certain.

    >>> [hundred(p) for p in (0.0, 0.005, 0.163, 0.995, 1.0)]
    ['0', '<1', '16', '>99', '100']
    """
    if 0 < chance <= 0.005:
        return "<1"
    if 0.995 <= chance < 1:
        return ">99"
    return f"{100 * chance:.0f}"


def in_100(chance: float) -> str:
    """A chance in words.

    >>> [in_100(p) for p in (0.002, 0.163, 0.999)]
    ['under 1 in 100', '16 in 100', 'over 99 in 100']
    """
    return f"{hundred(chance).replace('<', 'under ').replace('>', 'over ')} in 100"


def of_area(percent: float) -> str:
    """A rusted share; a little is never shown as none.

    >>> [of_area(p) for p in (0.0, 0.02, 0.07, 16.72)]
    ['0 %', 'under 0.1 %', '0.1 %', '16.7 %']
    """
    return "under 0.1 %" if 0 < percent < 0.05 else f"{percent:.1f} %" if percent else "0 %"


def decides(chance: float) -> str:
    """How often an ask changes the decision.

    >>> [decides(p) for p in (0.0, 0.004, 0.24, 0.62)]
    ['hardly ever decides', 'hardly ever decides', 'decides 1 in 4', 'decides 6 in 10']
    """
    if chance < 0.01:
        return "hardly ever decides"
    return f"decides {round(10 * chance)} in 10" if chance >= 0.35 else f"decides 1 in {round(1 / chance)}"


def move(log_odds: float) -> str:
    """A change in log-odds of bad metal, as a factor on the odds and a word for its size.

    >>> move(0.7), move(-1.4), move(0.02)
    ('odds x 2.0, somewhat worse', 'odds / 4.1, clearly better', 'odds x 1.0, hardly worse')
    """
    size = abs(log_odds)
    word = "hardly" if size < 0.2 else "somewhat" if size < 1 else "clearly" if size < 2.3 else "much"
    sign, way = ("x", "worse") if log_odds > 0 else ("/", "better")
    return f"odds {sign} {exp(size):.{1 if size < 3 else 0}f}, {word} {way}"


def plainly(value: float, digits: int = 1) -> str:
    """A plain figure without needless decimals.

    >>> plainly(26.0), plainly(1.9987, 2)
    ('26', '2')
    """
    text = f"{value:,.{digits}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace("-", MINUS)


def ticks(high: float, most: int = 6) -> tuple[float, ...]:
    """Round values from 0 to at least `high`, `most` steps at the most, for an axis.

    >>> ticks(23400.0)
    (0.0, 5000.0, 10000.0, 15000.0, 20000.0, 25000.0)
    """
    if not isfinite(high) or high <= 0:
        return 0.0, 1000.0
    rough = high / most
    size = 10.0 ** np.floor(np.log10(rough))
    step = next(factor * size for factor in (1, 2, 2.5, 5, 10) if factor * size >= rough * (1 - 1e-9))
    return tuple(float(step * i) for i in range(int(np.ceil(high / step - 1e-9)) + 1))


def shares_of(chances: ArrayLike, length: int) -> list[int]:
    """Whole numbers that sum to `length` in proportion to `chances`: largest remainders are rounded up.

    >>> shares_of([0.5, 0.26, 0.24], 10)
    [5, 3, 2]
    """
    wanted = np.asarray(chances, dtype=np.float64) * length
    counts = np.floor(wanted).astype(int)
    for i in np.argsort(-(wanted - counts), kind="stable")[: length - int(counts.sum())]:
        counts[i] += 1
    return [int(count) for count in counts]
