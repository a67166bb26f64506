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

    def __post_init__(self) -> None:
        """Plain numbers only, so that every figure can be written as JSON."""
        object.__setattr__(self, "met", bool(self.met))
        if not isinstance(self.value, str | int):
            object.__setattr__(self, "value", float(self.value))
