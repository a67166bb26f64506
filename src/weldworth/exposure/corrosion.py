"""Loss of bare carbon steel in open air: the published formulas, each with its units, ranges and source.

They describe flat open coupons. None was made for the cavities of a vehicle, wet dirt or crevices; see docs for what
the program makes of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import exp, isfinite, log

from weldworth.core.errors import BadInput, Problem

CATEGORY_TOPS = (("C1", 1.3), ("C2", 25.0), ("C3", 50.0), ("C4", 80.0), ("C5", 200.0), ("CX", 700.0))
"""Upper limit of each category of ISO 9223:2012, um of carbon steel in the first year; the limit belongs to the category."""

AIR_RANGES = {
    "temperature": (-17.1, 28.7, "degC, mean of the year"),
    "humidity": (34.0, 93.0, "% relative humidity, mean of the year"),
    "SO2": (0.7, 150.4, "mg/(m2 d) deposited"),
    "chloride": (0.4, 760.5, "mg/(m2 d) deposited"),
}
"""The ranges that ISO 9223:2012 Table 3 gives for the formula of carbon steel."""


def first_year_rate(t: float, rh: float, pd: float, sd: float, *, where: str = "") -> float:
    """Loss of bare carbon steel in the first year of open exposure, um.

    t : mean temperature of the year, degC, -17.1..28.7.   rh : mean relative humidity, %, 34..93.
    pd : SO2 deposition, mg/(m2 d), 0.7..150.4.   sd : chloride deposition, mg/(m2 d), 0.4..760.5.
    Raises BadInput for every value outside these ranges. Not for sheltered places, crevices, wet dirt or salt crusts.

    >>> round(first_year_rate(10, 80, 10, 3), 3)
    33.244

    ISO 9223:2012, equation 1.
    """
    problems = [
        Problem(where, f"{name} {value:g} is outside {low:g}..{high:g} {unit}; leave the air values out and give the place alone")
        for (name, (low, high, unit)), value in zip(AIR_RANGES.items(), (t, rh, pd, sd), strict=True)
        if not low <= value <= high
    ]
    if problems:
        raise BadInput(problems)
    slope = 0.150 if t <= 10 else -0.054
    sulphur = 1.77 * float(pd) ** 0.52 * exp(0.020 * rh + slope * (t - 10))
    salt = 0.102 * float(sd) ** 0.62 * exp(0.033 * rh + 0.040 * t)
    return float(sulphur + salt)


def category(rate_um: float) -> str:
    """The ISO 9223:2012 category of a first-year rate in um of carbon steel; above 700 um it stays CX.

    >>> [category(rate) for rate in (1.3, 25.0, 25.1, 80.0, 201.0)]
    ['C1', 'C2', 'C3', 'C4', 'CX']
    """
    if not isfinite(rate_um) or rate_um < 0:
        raise BadInput(f"rate {rate_um!r} um is not a loss; give a number from 0")
    return next((name for name, top in CATEGORY_TOPS if rate_um <= top), "CX")


def loss(rate_um: float, years: float, b: float) -> float:
    """Loss after `years` in one place, um: rate * years**b.

    rate_um : loss in the first year, um.   years : 0 or more, a.   b : exponent, [-]; 0.523 mean, 0.575 upper for carbon steel.
    ISO 9224:2012 prints this power law in its tables beyond 20 years too, and beside it a straight line after 20 years
    (`loss_straightened`). The power law is used throughout here, because lives in several places add up by equivalent time only
    with it. The exponent was fitted to about 20 years; beyond that it is an extrapolation.

    >>> round(loss(1.0, 50.0, 0.523), 3)
    7.737
    """
    return float(rate_um * years**b)


def loss_straightened(rate_um: float, years: float, b: float) -> float:
    """The other published form: as `loss` up to 20 years, then straight on with the slope of the 20th year. Not used here.

    >>> round(loss_straightened(1.0, 50.0, 0.523), 3)
    8.55

    ISO 9224:2012.
    """
    if years <= 20:
        return loss(rate_um, years, b)
    return float(rate_um * (20**b + b * 20 ** (b - 1) * (years - 20)))


def growth(rate_um: float, b: float) -> float:
    """What a year at this rate adds to the sum that `joined_loss` raises to b: rate**(1/b), um**(1/b)/a."""
    return float(rate_um ** (1 / b)) if rate_um > 0 else 0.0


def joined_loss(stretches: Iterable[tuple[float, float]], b: float) -> float:
    """Loss after a life of several stretches, um: (sum of rate**(1/b) * years)**b.

    stretches : (first-year rate in um, length in a).   b : exponent, [-].
    Each stretch goes on from the loss that the ones before have left, as if reached at the new rate (equivalent time).
    The sum does not depend on the order and not on how a stretch is cut up.

    >>> round(joined_loss([(30.0, 20.0), (30.0, 30.0)], 0.523), 6) == round(loss(30.0, 50.0, 0.523), 6)
    True
    """
    return float(sum(growth(rate, b) * years for rate, years in stretches) ** b)


def relative_growth(now: float, then: float, b: float) -> float:
    """ln(loss now / loss then) from the two sums of `growth` times years; `then` above 0."""
    return b * log(now / then)
