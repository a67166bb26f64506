"""A form of the seller's page as a browser without scripts sends it: one thing at a time, the same things as the script sends."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, BinaryIO

from starlette.datastructures import FormData, UploadFile
from starlette.responses import Response

from weldworth.core.errors import BadInput, Problem
from weldworth.web.errors import DiskFull, TooLarge, TooOften
from weldworth.web.sayings import SAYINGS
from weldworth.web.uploads import Announced

FIELDS = {"answer": "answer", "words": "answer", "value": "reading", "why": "cannot", "keep": "keep", "finish": "finish"}
"""Field that a form has -> the kind of thing that it sends."""
BODY = ("ask", "answer", "words", "measured", "unit", "why")


@dataclass(frozen=True)
class Sent:
    """What a form sends: its id, what is announced of it, the file where it has one."""

    id: str
    said: Announced
    file: BinaryIO | None


def sent_of(form: FormData) -> Sent:
    """The thing that was sent. Raises BadInput for an empty form and for a number that is none."""
    body: dict[str, Any] = {name: value for name in BODY if isinstance(value := form.get(name), str) and value}
    file = form.get("file")
    if isinstance(file, UploadFile) and file.size:
        said = Announced(kind="picture", body=body, length=file.size, name=(file.filename or "")[:200])
        return Sent(_id(form), said, file.file)
    kind = next((kind for field, kind in FIELDS.items() if form.get(field)), None)
    if kind is None:
        raise BadInput([Problem("empty", "nothing was sent; choose a picture or an answer")])
    if kind == "reading":
        try:
            body["value"] = float(str(form.get("value")).strip().replace(",", "."))
        except ValueError:
            raise BadInput([Problem("number", "give a number, such as 4.5")]) from None
    return Sent(_id(form), Announced(kind=kind, body=body), None)


def _id(form: FormData) -> str:
    """The id that the page gave the form; raises BadInput where it has none."""
    given = str(form.get("id", ""))
    if not 8 <= len(given) <= 64:
        raise BadInput([Problem("id", f"is {given[:20]!r}; load the page anew and send it again")])
    return given


def came_of(answer: Response) -> str:
    """The name of what is said of a thing that was settled: one of SAYINGS."""
    told = json.loads(bytes(answer.body))
    if answer.status_code != 200:
        places = [str(problem["where"]) for problem in told["error"]["problems"]]
        return next((one for one in places if one in SAYINGS), "refused")
    reply = told["reply"]
    return "came" if "good" not in reply else "good" if reply["good"] else ""


def why_not(error: Exception) -> str:
    """The name of what is said where a thing was not taken: one of SAYINGS."""
    for kind, name in ((TooLarge, "too-large"), (TooOften, "busy"), (DiskFull, "no_space")):
        if isinstance(error, kind):
            return name
    where = error.problems[0].where if isinstance(error, BadInput) and error.problems else ""
    return where if where in SAYINGS else "refused"
