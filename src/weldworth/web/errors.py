"""From an error to a status and to what is said: the one table for pages and for the API. Never a traceback."""

from __future__ import annotations

import logging
import secrets
from collections.abc import Sequence
from http import HTTPStatus

from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

from weldworth.core.errors import BadInput, Conflict, NotAllowed, NotFound, Problem, WeldworthError
from weldworth.workbench.ledger import Changed

log = logging.getLogger("weldworth.web")


class Refusal(Exception):
    """Base of what only a page or an address of the API can refuse."""


class NotKnown(Refusal):
    """Nobody is logged in, or the token is not good."""


class FormStale(Refusal):
    """The form was not made by this desk for this browser."""


class WrongHost(Refusal):
    """The desk was called by a name that is not its own."""


class TooLarge(Refusal):
    """More was sent than is taken at once."""


class DiskFull(Refusal):
    """The disk takes nothing more."""


class TooOften(Refusal):
    """Too many tries in a short time. seconds : how long to wait."""

    def __init__(self, text: str, seconds: int) -> None:
        super().__init__(text)
        self.seconds = seconds


STATUS: dict[type[Exception], tuple[int, str]] = {
    BadInput: (422, "bad-input"),
    NotKnown: (401, "not-known"),
    NotAllowed: (403, "not-allowed"),
    FormStale: (403, "form-stale"),
    NotFound: (404, "not-found"),
    Conflict: (409, "conflict"),
    Changed: (409, "conflict"),
    TooLarge: (413, "too-large"),
    WrongHost: (421, "wrong-host"),
    TooOften: (429, "too-often"),
    DiskFull: (507, "disk-full"),
    Refusal: (403, "refused"),
    WeldworthError: (500, "fault"),
}
FAULT = (500, "fault")


def status_of(error: BaseException) -> int:
    """The HTTP status of an error."""
    return _row(error)[0]


def kind_of(error: BaseException) -> str:
    """The word for the error in JSON."""
    return _row(error)[1]


def _row(error: BaseException) -> tuple[int, str]:
    if isinstance(error, RequestValidationError):
        return STATUS[BadInput]
    if isinstance(error, HTTPException):
        known = {status: kind for status, kind in STATUS.values()}
        return error.status_code, known.get(error.status_code, "refused" if error.status_code < 500 else "fault")
    return next((STATUS[kind] for kind in type(error).__mro__ if kind in STATUS), FAULT)


def problems_of(error: BaseException) -> tuple[Problem, ...]:
    """What went wrong, one sentence each; a fault of the program is logged under a number and told by that number."""
    if isinstance(error, BadInput):
        return error.problems
    if isinstance(error, WeldworthError | Refusal):
        return (Problem("", str(error)),)
    if isinstance(error, RequestValidationError):
        return tuple(_of_request(item) for item in error.errors())
    if isinstance(error, HTTPException):
        return (Problem("", _sentence(error)),)
    number = secrets.token_hex(4)
    log.error("fault %s", number, exc_info=error)
    return (
        Problem("", f"Fault {number} of the program, not of your data. What was recorded is kept; please report the number."),
    )


def as_json(error: BaseException) -> dict[str, object]:
    """The one JSON shape of every error."""
    return shape(kind_of(error), problems_of(error))


def shape(kind: str, problems: Sequence[Problem]) -> dict[str, object]:
    """kind and problems as JSON values."""
    return {"error": {"kind": kind, "problems": [{"where": problem.where, "text": problem.text} for problem in problems]}}


def _of_request(item: dict[str, object]) -> Problem:
    where = item.get("loc", ())
    steps = [str(step) for step in where[1:]] if isinstance(where, (tuple, list)) else []
    if item.get("type") == "missing":
        return Problem(".".join(steps), "is missing; the description of this address says what is needed")
    given = repr(item.get("input"))[:60]
    return Problem(".".join(steps), f"{given} cannot be used: {item.get('msg', 'not as described')}")


def _sentence(error: HTTPException) -> str:
    standard = {404: "There is no such page here.", 405: "This address does not take that kind of request."}
    detail = str(error.detail)
    plain = detail == HTTPStatus(error.status_code).phrase
    return standard.get(error.status_code, detail) if plain else detail
