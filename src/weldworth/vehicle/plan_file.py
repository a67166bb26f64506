"""Reading one body plan from its TOML file, with every problem in the file named in one go.

The keys are described in docs/plans.md. What is checked here: keys and their kinds, words, numbers, ids and names that
point at one another. Laying the plan out for one vehicle is the work of `plans`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import nearest, unknown
from weldworth.tables.load import BASES, Tables
from weldworth.vehicle.plan_keys import KEYS, PLAN_SIDES, RELATIONS, SAY, SECTIONS, TABLES, VIEWS, ZONE_WORDS, fits

Item = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class PlanFile:
    """A plan as written: checked, but not laid out for a vehicle.

    items : the tables of each section. instructions : the full text of each photo word and probe word.
    underneath : the photo words that want the phone held under the vehicle.
    """

    top: Item
    items: Mapping[str, tuple[Item, ...]]
    instructions: Mapping[str, Mapping[str, str]]
    underneath: frozenset[str]


def read_plan(body: str, tables: Tables) -> PlanFile:
    """The plan file of `body`; raises BadInput with every problem of the file: file, item, key, value and remedy."""
    return tables.once(("plan file", body), lambda: _read(body, tables))


def _read(body: str, tables: Tables) -> PlanFile:
    bodies = tables.plan_names()
    if body not in bodies:
        raise BadInput([Problem("", unknown("body", body, bodies))])
    rows = {kind: tables.rows(name, columns) for kind, (name, columns) in TABLES.items()}
    words = {kind: {row.text(TABLES[kind][1][0]): row for row in table} for kind, table in rows.items()}
    checker = _Checker(f"plans/{body}.toml", body, {kind: list(table) for kind, table in words.items()})
    plan: Item = tables.toml(f"plans/{body}.toml")
    checker.check(plan)
    if checker.problems:
        raise BadInput(checker.problems)
    return PlanFile(
        top=plan,
        items={section: tuple(plan.get(section, ())) for section in SECTIONS},
        instructions={
            kind: {word: row.text("instruction") for word, row in words[kind].items()} for kind in ("photo word", "probe word")
        },
        underneath=frozenset(word for word, row in words["photo word"].items() if row.text("underneath") == "yes"),
    )


class _Checker:
    """Collects the problems of one plan file."""

    def __init__(self, file: str, body: str, words: Mapping[str, list[str]]) -> None:
        self.file, self.body, self.words = file, body, words
        self.problems: list[Problem] = []
        self.signs: dict[tuple[str, str, str], str] = {}

    def add(self, label: str, text: str) -> None:
        self.problems.append(Problem(f"{self.file}: {label}" if label else self.file, text))

    def check(self, plan: Item) -> None:
        self.keys("", plan, "")
        items = {section: self.items(plan, section) for section in SECTIONS}
        zones = _names(items["zone"], "id")
        self.top(plan, items)
        self.unique("id", [*zones, *_names(items["place"], "id")])
        self.unique("option", _names(items["option"], "name"))
        for label, zone in items["zone"].items():
            self.zone(label, zone, plan.get("code"), _names(items["option"], "name"))
        self.families(items["zone"])
        for label, option in items["option"].items():
            for change in self.items(option, "change", label).items():
                self.change(*change, zones)
        for label, relation in items["relation"].items():
            self.relation(label, relation, zones)
        for label, tell in items["tell"].items():
            self.tell(label, tell, zones)
        for label, sentinel in items["sentinel"].items():
            self.word(label, sentinel, "zone", "zone", zones)
            self.word(label, sentinel, "basis", "basis", BASES)
        for label, place in items["place"].items():
            self.place(label, place, zones)

    def items(self, holder: Item, section: str, inside: str = "") -> dict[str, Item]:
        """The [[section]] tables of `holder` by a label for messages; their keys are checked on the way."""
        found = holder.get(section, [])
        items: dict[str, Item] = {}
        for number, item in enumerate(found if isinstance(found, list) else [], 1):
            if isinstance(item, dict):
                label = f"{inside + ': ' if inside else ''}{section} {item.get('id') or item.get('name') or number}"
                label = label if label not in items else f"{label} (number {number})"
                items[label] = item
                self.keys(label, item, section)
        return items

    def keys(self, label: str, item: Item, section: str) -> None:
        """Missing keys, unknown keys and values of the wrong kind."""
        needed, allowed = KEYS[section][0], KEYS[section][0] | KEYS[section][1]
        for key in needed:
            if key not in item:
                self.add(label, f"key {key!r} is missing; give {SAY[needed[key]]}")
        for key, value in item.items():
            if key not in allowed:
                best = nearest(key, allowed)
                self.add(
                    label, f"key {key!r} is not known" + (f"; nearest: {best!r}" if best else f"; known: {', '.join(allowed)}")
                )
            elif not fits(value, allowed[key]):
                self.add(label, f"{key} is {value!r}; give {SAY[allowed[key]]}")

    def top(self, plan: Item, items: Mapping[str, Mapping[str, Item]]) -> None:
        self.word("", plan, "battery_side", "side", ("left", "right"))
        self.word("", plan, "slide_side", "side", ("left", "right"))
        self.word("", plan, "basis", "basis", BASES)
        self.share("", plan, "twin_strength")
        if isinstance(plan.get("body"), str) and plan["body"] != self.body:
            self.add("", f"body is {plan['body']!r} but the file is named {self.body!r}; make them the same")
        if not items["zone"]:
            self.add("", "there is no zone; write at least one [[zone]]")
        sides = [item.get("side") for section in ("zone", "place") for item in items[section].values()]
        if "slide_side" not in plan and "slide" in sides:
            self.add(
                "", "key 'slide_side' is missing although something lies on the side of the sliding door; give left or right"
            )

    def word(self, label: str, item: Item, key: str, kind: str, known: Iterable[str]) -> None:
        """Reports the value of `key` when it is text and no known word."""
        value, choices = item.get(key), list(known)
        if fits(value, "text") and value not in choices:
            self.add(label, f"{key}: {unknown(kind, str(value), choices)}")

    def positive(self, label: str, item: Item, key: str) -> None:
        value = item.get(key)
        if fits(value, "number") and not value > 0:  # type: ignore[operator]
            self.add(label, f"{key} is {value}; give a number above 0")

    def share(self, label: str, item: Item, key: str) -> None:
        value = item.get(key)
        if fits(value, "number") and not 0 <= value <= 1:  # type: ignore[operator]
            self.add(label, f"{key} is {value}; give a correlation from 0 to 1")

    def unique(self, kind: str, names: Iterable[str]) -> None:
        for name, times in Counter(names).items():
            if times > 1:
                self.add("", f"{kind} {name!r} is given {times} times; give each its own")

    def zone(self, label: str, zone: Item, code: object, options: list[str]) -> None:
        name = zone.get("id")
        if isinstance(code, str) and isinstance(name, str) and not name.startswith(f"{code}."):
            self.add(label, f"id {name!r} does not begin with the plan's code; write {f'{code}.{name}'!r}")
        for key, choices in ZONE_WORDS.items():
            self.word(label, zone, key, key, choices)
        self.word(label, zone, "basis", "basis", BASES)
        self.word(label, zone, "cause", "cause", self.words["cause"])
        self.word(label, zone, "option", "option", options)
        self.numbers(label, zone)
        self.steps(label, zone, "photo")
        self.steps(label, zone, "probe")
        if zone.get("acid") is True and zone.get("side") != "both":
            self.add(label, "acid is true on a zone that does not lie on both sides; give it the cause 'battery' instead")
        if zone.get("acid") is True and "battery" not in self.words["cause"]:
            self.add(label, "acid is true but causes.csv has no cause 'battery'; add it there")

    def numbers(self, label: str, zone: Item) -> None:
        thickness, access = zone.get("thickness_mm"), zone.get("access")
        if fits(thickness, "range") and not 0 < thickness[0] <= thickness[1]:  # type: ignore[index]
            self.add(label, f"thickness_mm is {thickness}; give lowest, then highest, in mm and above 0")
        if fits(access, "count") and not 1 <= access <= 5:  # type: ignore[operator]
            self.add(label, f"access is {access}; give 1 (easy) to 5 (hardly possible)")
        self.positive(label, zone, "vulnerability")

    def steps(self, label: str, item: Item, key: str) -> None:
        if fits(item.get(key), "steps"):
            for word, _ in item[key]:
                if word not in (known := self.words[f"{key} word"]):
                    self.add(label, f"{key}: {unknown(f'{key} word', word, known)}")

    def families(self, zones: Mapping[str, Item]) -> None:
        first: dict[str, Item] = {}
        for label, zone in zones.items():
            family, cause = zone.get("family"), zone.get("cause")
            if isinstance(family, str) and isinstance(cause, str):
                other = first.setdefault(family, zone)
                if other["cause"] != cause:
                    text = f"family {family!r} spans two causes, {other['cause']!r} ({other.get('id')}) and {cause!r}"
                    self.add(label, f"{text}; give this zone a family of its own")

    def change(self, label: str, change: Item, zones: list[str]) -> None:
        self.word(label, change, "zone", "zone", zones)
        self.word(label, change, "view", "view", VIEWS)
        self.positive(label, change, "vulnerability")

    def relation(self, label: str, relation: Item, zones: list[str]) -> None:
        self.word(label, relation, "kind", "relation", RELATIONS)
        self.word(label, relation, "zone", "zone", zones)
        self.word(label, relation, "of", "zone", zones)
        self.word(label, relation, "basis", "basis", BASES)
        self.share(label, relation, "strength")

    def tell(self, label: str, tell: Item, zones: list[str]) -> None:
        zone, hidden = tell.get("zone"), tell.get("hidden")
        self.word(label, tell, "zone", "zone", zones)
        self.word(label, tell, "hidden", "zone", zones)
        self.word(label, tell, "row", "tell row", self.words["tell row"])
        if zone == hidden and zone in zones:
            self.add(label, f"zone and hidden are both {zone!r}; a sign on a zone itself needs no tell")
        for sign in tell["signs"] if fits(tell.get("signs"), "words") else ():
            if sign not in self.words["sign"]:
                self.add(label, f"signs: {unknown('sign', sign, self.words['sign'])}")
            if (earlier := self.signs.setdefault((str(zone), str(hidden), sign), label)) != label:
                self.add(label, f"{sign!r} on {zone} already speaks of {hidden} in {earlier}; keep one of the two")

    def place(self, label: str, place: Item, zones: list[str]) -> None:
        self.word(label, place, "side", "side", PLAN_SIDES)
        self.word(label, place, "row", "tell row", self.words["tell row"])
        self.word(label, place, "basis", "basis", BASES)
        self.steps(label, place, "photo")
        for zone in place["hidden"] if fits(place.get("hidden"), "words") else ():
            if zone not in zones:
                self.add(label, f"hidden: {unknown('zone', zone, zones)}")


def _names(items: Mapping[str, Item], key: str) -> list[str]:
    return [item[key] for item in items.values() if fits(item.get(key), "text")]
