"""A day at the desk for the tests: two people, a pickup, and what is recorded of it."""

from __future__ import annotations

import pytest

from weldworth.core.errors import BadInput

RESALE = {"low": 18000, "likely": 24000, "high": 30000}
TAIL, HORN = "pu.frame.tail", "pu.frame.horn.l"


def finding(zone: str = TAIL, sign: str = "surface-rust", **more: object) -> dict[str, object]:
    return {"zone": zone, "sign": sign, "source": "asked-picture", **more}


def fields(caught: pytest.ExceptionInfo[BadInput]) -> set[str]:
    return {problem.where for problem in caught.value.problems}
