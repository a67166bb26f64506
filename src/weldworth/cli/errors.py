"""From an error to what is said and to the exit code: the one table for both."""

from __future__ import annotations

import json
from collections.abc import Sequence

from weldworth.core.errors import BadInput, Conflict, NotAllowed, NotFound, Problem, WeldworthError

EXIT_CODE: dict[type[WeldworthError], int] = {BadInput: 2, NotFound: 3, Conflict: 4, NotAllowed: 1}
KIND: dict[type[WeldworthError], str] = {
    BadInput: "bad-input",
    NotFound: "not-found",
    Conflict: "conflict",
    NotAllowed: "not-allowed",
}
USAGE, FAULT = "usage", "fault"
USAGE_CODE, FAULT_CODE = 2, 1


def exit_code(error: BaseException) -> int:
    """2 bad input, 3 not found, 4 conflict, 1 anything else."""
    return next((code for kind, code in EXIT_CODE.items() if isinstance(error, kind)), FAULT_CODE)


def kind_of(error: BaseException) -> str:
    """The word for the error in JSON."""
    return next((word for kind, word in KIND.items() if isinstance(error, kind)), FAULT)


def problems_of(error: BaseException) -> tuple[Problem, ...]:
    """What went wrong, one sentence each; never a traceback."""
    if isinstance(error, BadInput):
        return error.problems
    if isinstance(error, WeldworthError):
        return (Problem("", str(error)),)
    told = " ".join(str(error).split())[:300]
    name = type(error).__name__ + (f": {told}" if told else "")
    remedy = "please report this line with the command that you gave and what 'weldworth doctor' prints"
    return (Problem("weldworth", f"{name}; this is a fault of the program, not of your data: {remedy}"),)


def as_json(kind: str, problems: Sequence[Problem]) -> str:
    """The one JSON shape of every error."""
    listed = [{"where": problem.where, "text": problem.text} for problem in problems]
    return json.dumps({"error": {"kind": kind, "problems": listed}}, indent=2)
