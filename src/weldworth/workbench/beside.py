"""The long work of quiet moments, and who does it."""

from __future__ import annotations

from typing import Protocol

from weldworth.core.remark import Remark
from weldworth.workbench.weigher import Ahead


class Beside(Protocol):
    """Where the long work of quiet moments is done: the desk itself, or a second one in a process of its own."""

    def ahead(self, id: str) -> Ahead | None:
        """What a candidate amounts to with everything recorded, its summary kept; None where it cannot be weighed yet."""
        ...

    def compare_ahead(self, most: int) -> int:
        """Make up to `most` pictures ready to be compared across the shop; how many were not."""
        ...

    def alike_elsewhere(self, id: str) -> list[Remark]:
        """A remark for each picture of a candidate that another candidate has too."""
        ...
