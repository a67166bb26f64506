"""What the finished, disclosed vehicle will bring: from the trader's own view, from comparable sales, or from both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import exp, inf, isinf, log, sqrt
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri, stdtrit

from weldworth.ceiling.comparables import LEAST_SALES, REMEDY, Sale
from weldworth.ceiling.regression import Fit, Prior, fit
from weldworth.ceiling.threepoint import TENTH, inner_chances, three_point
from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.core.words import unknown
from weldworth.tables.load import Tables

FloatArray = NDArray[np.float64]
Basis = Literal["own view", "comparables", "both"]
_NUMBERS: Final = ("scatter", "scatter_rows", "scatter_floor", "tail", "outlier_scales", "own_floor")
_SLOPES: Final = ("mileage", "model_year", "sold_on", "state")
_SPOKEN: Final = {"sold_on": "day of sale", "model_year": "model year"}


@dataclass(frozen=True, slots=True)
class Resale:
    """Distribution of the resale price: its logarithm is Student (or normal) with a scale on each side of the median.

    median : money.   log_scale_low, log_scale_high : scale of the log price below and above it.
    df : degrees of freedom, inf for normal.   centre_sd : standard error of the log median; 0 where not known apart.
    basis : where it comes from.   remarks : doubts to show beside it.
    """

    median: float
    log_scale_low: float
    log_scale_high: float
    df: float
    centre_sd: float
    basis: Basis
    remarks: tuple[Remark, ...] = ()

    def quantile(self, chance: ArrayLike) -> FloatArray:
        """The price that is undercut with `chance`, each in (0, 1); shape of `chance`."""
        q = np.asarray(chance, dtype=np.float64)
        z = np.asarray(ndtri(q) if isinf(self.df) else stdtrit(self.df, q))
        return np.asarray(self.median * np.exp(np.where(z < 0, self.log_scale_low, self.log_scale_high) * z))

    def draws(self, n: int, seed: int) -> FloatArray:
        """n prices by seed; (n,). Held within the 1-in-200 limits: a mean of unlimited Student log prices is infinite."""
        return self.quantile(inner_chances(n, seed))

    @property
    def p10(self) -> float:
        """One sale in ten brings less."""
        return float(self.quantile(0.1))

    @property
    def p50(self) -> float:
        """As many bring more as bring less."""
        return self.median

    @property
    def p90(self) -> float:
        """One sale in ten brings more."""
        return float(self.quantile(0.9))


@dataclass(frozen=True, slots=True)
class Target:
    """The finished vehicle as it will be offered; None = not known.

    on : day for which the price is wanted.   mileage : miles as read.   state : a word of states.csv.
    """

    on: date
    mileage: float | None = None
    model_year: int | None = None
    state: str | None = "tidy"


@dataclass(frozen=True, slots=True)
class Slope:
    """What one column is expected to do to the log price: `slope` +- `sd` per `per` units."""

    per: float
    slope: float
    sd: float


@dataclass(frozen=True, slots=True)
class ResaleTables:
    """The numbers of resale.csv, slopes.csv and states.csv."""

    scatter: float
    scatter_rows: float
    scatter_floor: float
    tail: float
    outlier_scales: float
    own_floor: float
    slopes: Mapping[str, Slope]
    states: Mapping[str, float]


def resale_tables(tables: Tables) -> ResaleTables:
    """The tables behind resale, checked; raises BadInput naming file and row."""
    rows = {row.text("name"): row for row in tables.rows("resale.csv", ("name", "value", "meaning"))}
    slope_rows = {r.text("column"): r for r in tables.rows("slopes.csv", ("column", "per", "slope", "sd", "meaning"))}
    problems = [Problem("resale.csv", f"there is no row {name!r}") for name in _NUMBERS if name not in rows]
    problems += [Problem(rows[name].where, unknown("name", name, _NUMBERS)) for name in rows if name not in _NUMBERS]
    problems += [Problem("slopes.csv", f"there is no row {name!r}") for name in _SLOPES if name not in slope_rows]
    problems += [Problem(r.where, unknown("column", name, _SLOPES)) for name, r in slope_rows.items() if name not in _SLOPES]
    if problems:
        raise BadInput(problems)
    slopes = {
        name: Slope(row.number("per", low=1e-9), row.number("slope"), row.number("sd", low=1e-6))
        for name, row in slope_rows.items()
    }
    states = {row.text("state"): row.number("log_price") for row in tables.rows("states.csv", ("state", "log_price", "meaning"))}
    numbers = {name: rows[name].number("value", low=1e-6) for name in _NUMBERS}
    return ResaleTables(**numbers, slopes=slopes, states=states)


def resale_from_view(
    low: float, likely: float, high: float, known: ResaleTables, where: str = "candidate.toml: resale"
) -> Resale:
    """The trader's own view: 1 in 10 below `low`, as often above `likely` as below, 1 in 10 above `high`.

    A view narrower than own_floor on a side is widened to it, with a remark.
    Raises BadInput when a price is not above 0 or the three are not in rising order.
    """
    view = three_point(low, likely, high, where)
    below, above = log(view.likely / view.low) / TENTH, log(view.high / view.likely) / TENTH
    remarks = []
    if min(below, above) < known.own_floor:
        below, above = max(below, known.own_floor), max(above, known.own_floor)
        share = exp(TENTH * known.own_floor) - 1
        text = f"low and high lie closer to {view.likely:,.0f} than anyone can know; widened to about {share:.0%} on each side"
        remarks.append(Remark("resale-view-widened", "resale", text))
    return Resale(view.likely, below, above, inf, max(below, above), "own view", tuple(remarks))


@dataclass(frozen=True, slots=True)
class Line:
    """What the sales say together. names : the columns that enter. differences : (sales, columns), from the target, in the
    units of slopes.csv. fit : of the log prices on them. remarks : doubts about the sales.
    """

    names: tuple[str, ...]
    differences: FloatArray
    fit: Fit
    remarks: tuple[Remark, ...]


def line_through(sales: Sequence[Sale], target: Target, known: ResaleTables, where: str = "comparables.csv") -> Line:
    """A robust line in the log price through the sales, each column as its difference from the target.

    Slopes are pulled towards slopes.csv, the scatter towards resale.csv. A column that the target does not give is left out; an
    empty cell counts as alike the target; both are remarked.
    Raises BadInput for fewer than three sales, a state that is not known, or a target after which a sale was made.
    """
    problems = []
    if len(sales) < LEAST_SALES:
        problems.append(Problem(where, f"{len(sales)} sales are too few to fit; {REMEDY}"))
    for place, state in [("target", target.state)] + [(sale.where, sale.state) for sale in sales]:
        if state is not None and state not in known.states:
            problems.append(Problem(place, unknown("state", state, known.states)))
    problems += [
        Problem(s.where, f"sold on {s.sold_on}, after {target.on}")
        for s in sales
        if s.sold_on is not None and s.sold_on > target.on
    ]
    if problems:
        raise BadInput(problems)
    names, differences, remarks = _differences(sales, target, known)
    slopes = [known.slopes[name] for name in names]
    prior = Prior(
        np.array([0.0] + [slope.slope for slope in slopes]),
        np.array([inf] + [slope.sd for slope in slopes]),
        known.scatter,
        known.scatter_rows,
    )
    design = np.column_stack([np.ones(len(sales)), differences])
    line = fit(design, np.log([s.price for s in sales]), prior, tail=known.tail, scale_floor=known.scatter_floor)
    return Line(tuple(names), differences, line, tuple(remarks))


def resale_from_comparables(sales: Sequence[Sale], target: Target, known: ResaleTables, where: str = "comparables.csv") -> Resale:
    """What the target brings by the sales: their line read at the target, where the constant is its own log price.

    The spread is that of one more sale: its own scatter and the doubt about the line together, Student with the lesser of the
    fit's degrees of freedom and `tail`. Raises as `line_through` does.
    """
    line = line_through(sales, target, known, where)
    found = line.fit
    scale = found.predictive_scale(np.eye(1, found.coefficients.size)[0])
    centre = sqrt(float(found.covariance[0, 0]))
    median = exp(float(found.coefficients[0]))
    remarks = (*line.remarks, *_outliers(sales, found, known))
    return Resale(median, scale, scale, min(found.df, known.tail), centre, "comparables", remarks)


def combine(view: Resale, sold: Resale) -> Resale:
    """The trader's own view and the comparables as one, by precision weighting of their log medians.

    The view counts with its whole spread as doubt about the median, the comparables with the standard error of
    theirs; weights are one over the squares. Around the joint median stays the scatter of single sales, which no
    view removes. Where the two lie further apart than their doubts allow, the doubt is widened by their distance
    over it (Birge, R. T. (1932). The calculation of errors by the method of least squares. Phys. Rev. 40, 207-227)
    and a remark says so.
    """
    view_var = (view.log_scale_low**2 + view.log_scale_high**2) / 2
    sold_var = sold.centre_sd**2
    distance = log(view.median / sold.median)
    share = sold_var / (view_var + sold_var)
    ratio = max(1.0, distance**2 / (view_var + sold_var))
    scatter2 = max(sold.log_scale_high**2 - sold_var, 0.0)
    low, high = (1 / (1 / side**2 + 1 / sold_var) for side in (view.log_scale_low, view.log_scale_high))
    remarks = view.remarks + sold.remarks
    if ratio > 4:
        text = (
            f"your own {view.median:,.0f} and the {sold.median:,.0f} of the comparables do not go together; the spread is widened"
        )
        remarks += (Remark("resale-views-differ", "resale", text),)
    joint = exp(log(sold.median) + share * distance)
    return replace(
        sold,
        median=joint,
        log_scale_low=sqrt(scatter2 + low * ratio),
        log_scale_high=sqrt(scatter2 + high * ratio),
        centre_sd=sqrt((low + high) / 2 * ratio),
        basis="both",
        remarks=remarks,
    )


def value_of(sale: Sale | Target, name: str, known: ResaleTables) -> float | None:
    """The number that column `name` has for a sale or the target, before scaling; None where not known."""
    if name == "state":
        return None if sale.state is None else known.states[sale.state]
    if name == "sold_on":
        day = sale.on if isinstance(sale, Target) else sale.sold_on
        return None if day is None else float(day.toordinal())
    value = sale.mileage if name == "mileage" else sale.model_year
    return None if value is None else float(value)


def _differences(sales: Sequence[Sale], target: Target, known: ResaleTables) -> tuple[list[str], FloatArray, list[Remark]]:
    """The columns used, their differences from the target in table units (sales, columns), and remarks."""
    names, columns, remarks = [], [], []
    for name in _SLOPES:
        cells = [value_of(sale, name, known) for sale in sales]
        spoken = _SPOKEN.get(name, name)
        if all(cell is None for cell in cells):
            continue
        at = value_of(target, name, known)
        if at is None:
            remarks.append(
                Remark(
                    "resale-column-left-out", name, f"the {spoken} of the vehicle is not known, so sales are not adjusted for it"
                )
            )
            continue
        empty = sum(cell is None for cell in cells)
        if empty:
            remarks.append(Remark("resale-cell-empty", name, f"{empty} sales give no {spoken} and count as alike the vehicle"))
        per = known.slopes[name].per
        column = np.array([0.0 if cell is None else (cell - at) / per for cell in cells])
        if np.any(column != 0):
            names.append(name)
            columns.append(column)
    return names, np.array(columns).reshape(len(columns), len(sales)).T, remarks


def _outliers(sales: Sequence[Sale], line: Fit, known: ResaleTables) -> list[Remark]:
    """A remark for each sale that lies too far from what the others say, with the reason."""
    remarks = []
    for sale, residual, weight in zip(sales, line.residuals, line.weights, strict=True):
        if abs(residual) > known.outlier_scales * line.scale:
            usual = sale.price / exp(residual)
            what = sale.where or sale.name or "a sale"
            text = f"{what}: {sale.price:,.0f} where the other sales say about {usual:,.0f}; counts for {weight:.2f} of a sale"
            remarks.append(Remark("resale-outlier", "resale", text))
    return remarks
