"""One measured number, with what it should be and how it was measured."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """A number asked for.

    target : what it should be, in words, such as "at most 1e-6". how : the method. on : the data or machine.
    """

    name: str
    value: float | int | str
    unit: str
    target: str
    met: bool
    how: str
    on: str
