"""The keys of a body plan file: which there are, what kind of value each wants, and the words that are fixed."""

from __future__ import annotations

from weldworth.vehicle.conditions import CONDITIONS

STATIONS = ("outside", "inside", "underneath", "engine bay")
STRUCTURAL = ("yes", "partly", "no")
VIEWS = ("exposed", "half", "hidden")
PLAN_SIDES = ("both", "centre", "battery", "slide")
ZONE_WORDS = {"station": STATIONS, "side": PLAN_SIDES, "structural": STRUCTURAL, "view": VIEWS}
RELATIONS = ("hidden-under", "water-path", "front-rear")

SECTIONS = ("option", "zone", "relation", "tell", "sentinel", "place")
TABLES = {
    "cause": ("causes.csv", ("cause", "name", "channel", "vehicle", "group", "family", "own")),
    "sign": ("signs.csv", ("sign", "meaning", "kind", *CONDITIONS)),
    "tell row": ("tells.csv", ("tell", "meaning", *CONDITIONS)),
    "photo word": ("photo_words.csv", ("word", "instruction", "underneath")),
    "probe word": ("probe_words.csv", ("word", "instruction")),
}

_ZONE = {
    "id": "text",
    "name": "text",
    "station": "text",
    "side": "text",
    "structural": "text",
    "thickness_mm": "range",
    "vulnerability": "number",
    "cause": "text",
    "family": "text",
    "view": "text",
    "seen": "text",
    "wetting": "text",
    "tell": "text",
    "photo": "steps",
    "probe": "steps",
    "access": "count",
}
_ZONE_MORE = {
    "structural_note": "text",
    "thickness_note": "text",
    "sheltered": "flag",
    "inside": "flag",
    "acid": "flag",
    "option": "text",
    "uncover": "text",
    "basis": "text",
}
KEYS: dict[str, tuple[dict[str, str], dict[str, str]]] = {
    "": (
        {
            "body": "text",
            "code": "text",
            "name": "text",
            "basis": "text",
            "source": "text",
            "as_of": "text",
            "battery_side": "text",
        },
        {"slide_side": "text", "twin_strength": "number"} | {section: "list" for section in SECTIONS},
    ),
    "option": ({"name": "text", "words": "text"}, {"change": "list"}),
    "change": ({"zone": "text"}, {"vulnerability": "number", "view": "text", "seen": "text"}),
    "zone": (_ZONE, _ZONE_MORE),
    "relation": ({"kind": "text", "zone": "text", "of": "text"}, {"strength": "number", "note": "text", "basis": "text"}),
    "tell": ({"zone": "text", "signs": "words", "hidden": "text", "row": "text"}, {}),
    "sentinel": ({"zone": "text", "of": "text"}, {"note": "text", "basis": "text"}),
    "place": (
        {"id": "text", "name": "text", "side": "text", "kind": "text", "hidden": "words", "row": "text", "photo": "steps"},
        {"note": "text", "basis": "text"},
    ),
}
SAY = {
    "text": "text in quotes, not empty",
    "number": "a number",
    "count": "a whole number",
    "flag": "true or false",
    "words": "a list of words, not empty",
    "range": "two numbers, lowest and highest",
    "steps": 'a list of [WORD, "detail"] pairs, not empty',
    "list": "written as [[...]] tables",
}


def fits(value: object, kind: str) -> bool:
    """Whether a TOML value is of the kind that a key wants."""
    if kind == "text":
        return isinstance(value, str) and value.strip() != ""
    if kind == "flag":
        return isinstance(value, bool)
    if kind == "count":
        return isinstance(value, int) and not isinstance(value, bool)
    if kind == "number":
        return isinstance(value, int | float) and not isinstance(value, bool) and value == value and abs(value) != float("inf")
    if not isinstance(value, list):
        return False
    if kind == "range":
        return len(value) == 2 and all(fits(part, "number") for part in value)
    if kind == "words":
        return bool(value) and all(fits(part, "text") for part in value)
    if kind == "steps":
        return bool(value) and all(isinstance(p, list) and len(p) == 2 and all(isinstance(t, str) for t in p) for p in value)
    return all(isinstance(part, dict) for part in value)
