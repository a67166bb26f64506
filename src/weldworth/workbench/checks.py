"""What an entry may say: each body is checked before it is recorded, by the same rules as a dossier folder, field by field."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from weldworth.ceiling.columns import ORDERS
from weldworth.ceiling.comparables import read_comparables
from weldworth.ceiling.resale import resale_tables
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.evidence.questions import questions
from weldworth.tables.load import Tables
from weldworth.workbench.deal import SHOP_KEYS
from weldworth.workbench.document import (
    RESALE_KEYS,
    SALE_KEYS,
    VEHICLE_KEYS,
    Document,
    read_plans,
    read_resale,
    read_sale,
    read_shop,
    read_vehicle,
)
from weldworth.workbench.fields import Fields
from weldworth.workbench.fold import OUTLINE, Gathered, known_of, merged
from weldworth.workbench.ledger import REPLACES, STAGES, Json
from weldworth.workbench.recording import ANSWER_KEYS, FINDING_KEYS, READING_KEYS, RecordReader
from weldworth.workbench.residences import HISTORY_KEYS, read_residence
from weldworth.workbench.showing import PICTURE_ITEM_KEYS, read_picture
from weldworth.workbench.stamps import STAMP, stamp_problems
from weldworth.workbench.walk import LONGEST, SHORTEST, walkers

PICTURE_KEYS = ("sha256", "name", "zones", "regions", "taken_on", "source", "note", "dismissed", "width", "height", "alike")
ASK_KINDS = ("picture", "question", "reading", "visit")
LONGEST_NOTE = 20_000
LARGEST_TEXT = 4_000_000
WALK_STATES = ("begun", "ended")
_SHA256 = re.compile(r"[0-9a-f]{64}")
_NOT_OURS = ("id", "replaces")
_SAME = {
    "unit": "odometer_unit",
    "option": "options",
    "side": "battery_side",
    "repair": "repairs",
    "place": "zone",
    "starts": "from",
    "ends": "to",
    "body": "body",
    "zone": "zones",
    "file": "name",
}
"""First word of a sentence -> the field it is about, where the two differ and the field is one of this kind's."""


def check(kind: str, body: Json, gathered: Gathered, tables: Tables, today: date) -> dict[str, object]:
    """The body as it will be kept: without empty fields. Raises BadInput, each problem's `where` the name of a field.

    gathered : what stands before it.
    """
    checker = CHECKS.get(kind)
    if checker is None:
        raise BadInput([Problem("kind", unknown("kind", kind, CHECKS))])
    if not isinstance(body, Mapping):
        raise BadInput([Problem("body", "is no table; give fields with their values")])
    keep_null = kind == "vehicle"
    kept = {key: _bare(value) for key, value in body.items() if key != REPLACES and (keep_null or value not in (None, "", []))}
    if keep_null:
        kept = {key: None if value in ("", []) else value for key, value in kept.items()}
    stamp = {key: kept.pop(key) for key in STAMP if key in kept}
    problems, keys = checker(kept, gathered, tables, today)
    problems = [*problems, *stamp_problems(stamp)]
    if problems:
        raise BadInput(by_field(problems, (*keys, *STAMP)))
    return {**kept, **stamp}


def by_field(problems: Iterable[Problem], keys: Sequence[str]) -> list[Problem]:
    """The problems with the name of the field that each is about, where one of `keys` can be told from it."""
    return [Problem(_field(problem, keys), problem.text) for problem in problems]


def _field(problem: Problem, keys: Sequence[str]) -> str:
    if problem.where in keys:
        return problem.where
    last = problem.where.rpartition(": ")[2]
    words = re.findall(r"[a-z_0-9]+", problem.text)
    quoted = re.match(r"key '([^']*)'", problem.text)
    if quoted:
        return quoted[1]
    for word in (last, words[0] if words else "", _SAME.get(words[0], "") if words else ""):
        if word in keys:
            return word
    return ""


def _bare(value: object) -> object:
    return value.strip() if isinstance(value, str) else value


_Checked = tuple[list[Problem], Sequence[str]]
_Checker = Callable[[dict[str, object], Gathered, Tables, date], _Checked]


def _vehicle(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    document = Document("", {"vehicle": merged(gathered, body)}, today)
    vehicle, _, _ = read_vehicle(document, tables)
    read_plans(document, vehicle, tables)
    if not body:
        document.problems.append(Problem("", "nothing is changed; give at least one fact"))
    return document.problems, VEHICLE_KEYS


def _residence(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    document = Document("", {}, today)
    read_residence(document, "", body, tables)
    return document.problems, HISTORY_KEYS


def _record(kind: str, keys: Sequence[str]) -> _Checker:
    own = [*(key for key in keys if key not in _NOT_OURS), OUTLINE]

    def checked(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
        document = Document("", {"vehicle": gathered.vehicle}, today)
        vehicle, _, _ = read_vehicle(document, tables)
        names = [picture.name for picture in gathered.pictures]
        known = known_of(vehicle, tables, names, [], today)
        problems = [Problem(key, f"key {key!r} is not known here") for key in body if key in _NOT_OURS]
        item = {key: value for key, value in body.items() if key not in _NOT_OURS}
        if kind == "finding" and OUTLINE in item:
            problems += _outline(item.pop(OUTLINE), "picture" in item)
        reader = RecordReader(known, "", problems, today)
        {"finding": reader.finding, "reading": reader.reading, "answer": reader.answer}[kind](1, item)
        return problems, own

    return checked


def _outline(points: object, on_picture: bool) -> list[Problem]:
    """What is wrong with a drawn outline."""
    if not on_picture:
        return [Problem(OUTLINE, "is given without a picture; name the picture or leave it out")]
    good = isinstance(points, list) and len(points) >= 3
    for point in points if isinstance(points, list) else ():
        pair = isinstance(point, list) and len(point) == 2
        good = good and pair and all(isinstance(n, int | float) and not isinstance(n, bool) and 0 <= n < 1e6 for n in point)
    text = "cannot be read; give at least three points [across, down] in pixels of the picture"
    return [] if good else [Problem(OUTLINE, text)]


def _whole(name: str, read: Callable[[Document, Tables], object], keys: Sequence[str]) -> _Checker:
    def checked(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
        document = Document("", {name: body}, today)
        read(document, tables)
        return document.problems, keys

    return checked


def _comparables(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    problems = _text(body, required=False)
    text = body.get("text")
    if not problems and text:
        try:
            read_comparables(str(text), "comparables.csv", states=resale_tables(tables).states, on=today)
        except BadInput as error:
            problems = [Problem("text", str(problem)) for problem in error.problems]
    keys = ("text", "file", "columns", "states", "dates", "note")
    fields = Fields(body, "", keys, problems, today)
    for key in ("file", "note"):
        fields.text(key)
    if body.get("dates") is not None:
        fields.word("dates", ORDERS)
    for key in ("columns", "states"):
        given = body.get(key, {})
        if not isinstance(given, Mapping) or not all(isinstance(meaning, str) for meaning in given.values()):
            problems.append(Problem(key, f"{key} cannot be read; give the shop's words with what each means, as text"))
    return problems, keys


def _advert(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    return _text(body, required=False), ("text", "address")


def _text(body: Mapping[str, object], *, required: bool, most: int = LARGEST_TEXT) -> list[Problem]:
    text = body.get("text", "")
    if not isinstance(text, str) or (required and not text):
        return [Problem("text", f"is {'empty' if text == '' else repr(text)[:60]}; write something")]
    return [Problem("text", f"is {len(text):,} characters long; {most:,} are the most")] if len(text) > most else []


def _note(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    problems = _text(body, required=True, most=LONGEST_NOTE)
    Fields(body, "", ("text", "zone", "picture"), problems, today)
    return problems, ("text", "zone", "picture")


def _picture(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    problems: list[Problem] = []
    fields = Fields(body, "", PICTURE_KEYS, problems, today)
    sha256 = fields.text("sha256", required=True) or ""
    name = fields.text("name", required=True, remedy="give the file's name") or ""
    if sha256 and not _SHA256.fullmatch(sha256):
        problems.append(Problem("sha256", f"sha256 {sha256[:20]!r} is none; give 64 hexadecimal digits in lower case"))
    clash = next((p for p in gathered.pictures if p.name == name and p.sha256 != sha256), None)
    if clash is not None:
        problems.append(Problem("name", f"name {name!r} is taken by another picture; give another name"))
    document = Document("", {"vehicle": gathered.vehicle}, today)
    known = known_of(read_vehicle(document, tables)[0], tables, [name], [], today)
    said = {key: value for key, value in body.items() if key in PICTURE_ITEM_KEYS}
    if name:
        read_picture(RecordReader(known, "", problems, today), 1, {"file": name, **said})
    return problems, PICTURE_KEYS


def _memo(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    problems: list[Problem] = []
    keys = ("sha256", "name", "zone", "seconds", "note")
    fields = Fields(body, "", keys, problems, today)
    sha256 = fields.text("sha256", required=True) or ""
    if sha256 and not _SHA256.fullmatch(sha256):
        problems.append(Problem("sha256", f"sha256 {sha256[:20]!r} is none; give 64 hexadecimal digits in lower case"))
    fields.text("name", required=True, remedy="give the file's name")
    fields.number("seconds", low=0, required=True)
    fields.text("zone")
    return [*problems, *(_text({"text": body["note"]}, required=True, most=LONGEST_NOTE) if "note" in body else ())], keys


def _walk(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    problems: list[Problem] = []
    keys = ("state", "source", "minutes", "seconds", "worth", "share", "currency", "stops")
    fields = Fields(body, "", keys, problems, today)
    state = fields.word("state", WALK_STATES, required=True)
    if state == "begun":
        fields.word("source", walkers(tables), required=True)
        fields.whole("minutes", low=SHORTEST, high=LONGEST)
    return problems, keys


def _ask_sent(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    problems: list[Problem] = []
    fields = Fields(body, "", ("asks", "text", "way"), problems, today)
    for key in fields.words("asks"):
        if key.partition(":")[0] not in ASK_KINDS:
            problems.append(Problem("asks", f"asks holds {key!r}; give kind:zone, such as 'picture:pu.frame.tail'"))
    if not body.get("asks"):
        problems.append(Problem("asks", "asks is empty; choose at least one"))
    return [*problems, *_text(body, required=False, most=LONGEST_NOTE)], ("asks", "text", "way")


def _ask_back(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    problems: list[Problem] = []
    keys = ("kind", "zone", "note", "pictures")
    fields = Fields(body, "", keys, problems, today)
    kind, zone = fields.word("kind", ASK_KINDS, required=True), fields.text("zone", required=True)
    if kind == "question" and zone is not None and zone not in questions(tables):
        problems.append(Problem("zone", unknown("question", zone, questions(tables))))
    if kind == "picture" and zone is not None:
        document = Document("", {"vehicle": gathered.vehicle}, today)
        plan = known_of(read_vehicle(document, tables)[0], tables, [], [], today).plan
        if plan is not None and zone not in plan.index:
            problems.append(Problem("zone", unknown("zone", zone, plan.index)))
    fields.text("note")
    fields.words("pictures")
    return problems, keys


def _stage(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    problems: list[Problem] = []
    keys = ("stage", "price", "note", "on")
    fields = Fields(body, "", keys, problems, today)
    fields.word("stage", STAGES, required=True)
    fields.money("price")
    fields.text("note")
    fields.day("on")
    return problems, keys


def _archived(body: dict[str, object], gathered: Gathered, tables: Tables, today: date) -> _Checked:
    problems: list[Problem] = []
    Fields(body, "", ("archived",), problems, today).flag("archived")
    if "archived" not in body:
        problems.append(Problem("archived", "archived is missing; write true or false"))
    return problems, ("archived",)


CHECKS: dict[str, _Checker] = {
    "opened": _vehicle,
    "vehicle": _vehicle,
    "residence": _residence,
    "finding": _record("finding", FINDING_KEYS),
    "reading": _record("reading", READING_KEYS),
    "answer": _record("answer", ANSWER_KEYS),
    "sale": _whole("sale", read_sale, SALE_KEYS),
    "resale": _whole("resale", lambda document, tables: read_resale(document), RESALE_KEYS),
    "shop": _whole("shop", read_shop, SHOP_KEYS),
    "comparables": _comparables,
    "advert": _advert,
    "picture": _picture,
    "note": _note,
    "memo": _memo,
    "walk": _walk,
    "ask-sent": _ask_sent,
    "ask-arrived": _ask_back,
    "ask-refused": _ask_back,
    "stage": _stage,
    "archived": _archived,
}
"""Kind -> its check. Kinds that are not here are made by the desk alone."""
