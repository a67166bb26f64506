"""Comparable sales beside each other: what each would have brought if alike the vehicle, and which lie apart from the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from weldworth.ceiling.comparables import Sale
from weldworth.ceiling.resale import FloatArray, Line, ResaleTables, Target, line_through, value_of


@dataclass(frozen=True, slots=True)
class Compared:
    """One sale among the others. alike : its price if it were alike the vehicle, money. usual : what the line says of it.

    weight : how much of a sale it counts for. apart : it lies further from the line than resale.csv allows.
    """

    sale: Sale
    alike: float
    usual: float
    weight: float
    apart: bool


@dataclass(frozen=True)
class Comparison:
    """All sales beside each other. columns : those that the line goes by."""

    sales: tuple[Compared, ...]
    columns: tuple[str, ...]
    line: Line
    target: Target
    known: ResaleTables

    def along(self, column: str, values: Sequence[float]) -> FloatArray:
        """The price that the line gives at each value of one column, all else as the vehicle is; (values,), money."""
        at = value_of(self.target, column, self.known)
        beta = self.line.fit.coefficients
        if column not in self.columns or at is None:
            return np.full(len(values), float(np.exp(beta[0])))
        slope = beta[1 + self.columns.index(column)] / self.known.slopes[column].per
        return np.asarray(np.exp(beta[0] + slope * (np.asarray(values, dtype=np.float64) - at)))


def compare(sales: Sequence[Sale], target: Target, known: ResaleTables) -> Comparison:
    """The sales beside each other; raises BadInput as `line_through` does."""
    line = line_through(sales, target, known)
    found = line.fit
    moved = line.differences @ found.coefficients[1:]
    apart = np.abs(found.residuals) > known.outlier_scales * found.scale
    rows = tuple(
        Compared(
            sale=sale,
            alike=float(sale.price * np.exp(-moved[i])),
            usual=float(sale.price * np.exp(-found.residuals[i])),
            weight=min(1.0, float(found.weights[i])),
            apart=bool(apart[i]),
        )
        for i, sale in enumerate(sales)
    )
    return Comparison(rows, line.names, line, target, known)
