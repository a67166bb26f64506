"""Findings, readings and answers as written, in candidate.toml or on a page, as records; each refused with its reasons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from weldworth.belief.machine import suggested_signs
from weldworth.belief.sight import lexicon
from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.core.units import MILLIMETRES, millimetres
from weldworth.core.words import nearest
from weldworth.evidence.questions import REFUSED, Question, questions
from weldworth.evidence.records import Answer, Finding, Reading
from weldworth.tables.load import Tables
from weldworth.vehicle.plan import SIDES, Plan
from weldworth.workbench.fields import LONGEST_WORD, Fields, listed, shown, spelled

FINDING_KEYS = ("zone", "sign", "absent", "source", "picture", "region", "quality", "seen_on", "note", "id", "replaces")
READING_KEYS = ("zone", "kind", "value", "unit", "source", "seen_on", "note", "id", "replaces")
ANSWER_KEYS = ("question", "answer", "given_on", "note", "id", "replaces")
READING_UNITS = {"coating": ("um", "mil", "mm"), "wall": ("mm", "in"), "door-gap": ("mm", "in")}
MEASURED = {"coating": "coating", "wall": "wall"}
MANY_TIMES_NEW = 2.0


@dataclass(frozen=True)
class Known:
    """The words that records may use.

    plan : None when the body is not known. whole : the plan with everything fitted. suggested : signs that the machine suggests.
    """

    plan: Plan | None
    whole: Plan | None
    signs: Mapping[str, str]
    sources: Sequence[str]
    questions: Mapping[str, Question]
    pictures: Sequence[str]
    suggested: Sequence[str] = ()


def known_words(plan: Plan | None, whole: Plan | None, tables: Tables, pictures: Sequence[str]) -> Known:
    """The words that records about a vehicle with this plan may use."""
    words = lexicon(tables)
    signs = {id: sign.kind for id, sign in words.signs.items()}
    return Known(plan, whole, signs, tuple(words.sources), questions(tables), pictures, suggested_signs(tables))


@dataclass
class RecordReader:
    """Reads items one by one; keeps what was named so far so that a later item can correct an earlier one.

    places : how an item says where it stands. described : pictures that an item has described.
    """

    known: Known
    file: str
    problems: list[Problem]
    today: date
    remarks: list[Remark] = field(default_factory=list)
    named: dict[str, str] = field(default_factory=dict)
    described: set[str] = field(default_factory=set)
    places: str = "{file}: {kind} {number}"

    def finding(self, number: int, values: Mapping[str, object]) -> Finding | None:
        """One finding, or None with its problems recorded."""
        item = self.item("finding", number, values, FINDING_KEYS)
        before = len(self.problems)
        zone = self._zone(item)
        sign = self._sign(item)
        source = item.word("source", self.known.sources, required=True)
        picture = self._picture(item)
        region = self._region(item)
        quality = item.number("quality", low=0, high=1)
        absent, seen_on, note = item.flag("absent"), item.day("seen_on"), item.text("note") or ""
        replaces = self._replaces("finding", item)
        if len(self.problems) > before or zone is None or sign is None or source is None:
            return None
        try:
            return Finding(zone, sign, source, absent, quality, picture, region, seen_on, note, item.where, replaces)
        except BadInput as error:
            self.problems += error.problems
            return None

    def reading(self, number: int, values: Mapping[str, object]) -> Reading | None:
        """One reading in millimetres, or None with its problems recorded."""
        item = self.item("reading", number, values, READING_KEYS)
        before = len(self.problems)
        kind = item.word("kind", READING_UNITS, required=True)
        zone = self._place(item) if kind == "door-gap" else self._zone(item)
        value = item.number("value", low=None if kind == "door-gap" else 0.0, required=True)
        unit = item.text("unit", required=True, remedy=listed(READING_UNITS[kind] if kind else MILLIMETRES))
        factor = self._factor(item, kind, unit)
        source = item.word("source", self.known.sources, required=True)
        seen_on, note = item.day("seen_on"), item.text("note") or ""
        replaces = self._replaces("reading", item)
        if len(self.problems) > before or kind is None or zone is None or value is None or unit is None or source is None:
            return None
        self._odd(item, kind, zone, value * factor)
        return Reading(zone, kind, value * factor, source, value, unit, seen_on, note, item.where, replaces)

    def answer(self, number: int, values: Mapping[str, object]) -> Answer | None:
        """One answer, or None with its problems recorded; free text is kept and remarked on."""
        item = self.item("answer", number, values, ANSWER_KEYS)
        before = len(self.problems)
        question = item.word("question", self.known.questions, required=True)
        choices = (*self.known.questions[question].answers, REFUSED) if question else ()
        remedy = (
            "give one of its listed answers or the seller's words" if not choices else f"{listed(choices)}, or the seller's words"
        )
        answer = item.text("answer", required=True, remedy=remedy)
        given_on, note = item.day("given_on"), item.text("note") or ""
        replaces = self._replaces("answer", item)
        if len(self.problems) > before or question is None or answer is None:
            return None
        if answer not in choices:
            best = nearest(answer, choices) if len(answer) <= LONGEST_WORD else None
            text = f"{item.where}: answer {shown(answer)} is kept and not weighed; "
            self.remarks.append(
                Remark("answer-not-weighed", question, text + (f"nearest: {best!r}" if best else listed(choices)))
            )
        return Answer(question, answer, given_on, note, item.where, replaces)

    def item(self, kind: str, number: int, values: Mapping[str, object], keys: Sequence[str]) -> Fields:
        """The keys of one item, those that are not known refused."""
        where = self.places.format(file=self.file, kind=kind, number=number)
        return Fields(values, where, keys, self.problems, self.today)

    def _zone(self, item: Fields) -> str | None:
        """The zone's id, checked against the plan as fitted; unchecked when the body is not known."""
        zone = item.text("zone", required=True, remedy="name the zone as in the body plan")
        return zone if zone is not None and self.known_zone(item, zone) else None

    def known_zone(self, item: Fields, zone: str) -> bool:
        """Whether the zone is fitted on this vehicle; refused with the remedy where it is not."""
        plan, whole = self.known.plan, self.known.whole
        if plan is None or whole is None or zone in plan.index:
            return True
        sides = [f"{zone}.{side}" for side in SIDES if f"{zone}.{side}" in whole.index]
        middle = zone.rpartition(".")[0]
        if any(zone in (place.id, place.id[:-2]) for place in plan.places):
            item.refuse(
                f"zone {zone!r} is a place to measure the door gap, not metal; record it as a [[reading]] of kind 'door-gap'"
            )
        elif sides:
            item.refuse(f"zone {zone!r} is on both sides; write " + " or ".join(map(repr, sides)))
        elif zone in whole.index:
            item.refuse(
                f"zone {zone!r} is in the plan of {plan.body!r} but not fitted on this vehicle; mend options in [vehicle]"
            )
        elif zone[-2:] in (".l", ".r") and middle in whole.index:
            item.refuse(f"zone {zone!r} has no sides; write {middle!r}")
        else:
            item.refuse(spelled("zone", zone, plan.index))
        return False

    def _place(self, item: Fields) -> str | None:
        """The id of a place where a door gap is measured."""
        plan = self.known.plan
        if plan is None:
            return item.text("zone", required=True)
        return item.word(
            "zone", [place.id for place in plan.places if place.kind == "door-gap"], required=True, kind="place of a door gap"
        )

    def _sign(self, item: Fields) -> str | None:
        """The sign's id; what a gauge says has to be recorded as a reading."""
        seen = [sign for sign, kind in self.known.signs.items() if kind not in MEASURED]
        sign = item.text("sign", required=True, remedy=listed(seen))
        if sign is None or sign in seen:
            return sign
        if sign in self.known.signs:
            kind = MEASURED[self.known.signs[sign]]
            item.refuse(f"sign {sign!r} comes from a gauge; record the number as a [[reading]] of kind {kind!r}")
        else:
            item.refuse(spelled("sign", sign, seen))
        return None

    def _picture(self, item: Fields) -> str | None:
        """The picture's name below pictures/, which must be there."""
        name = item.text("picture", remedy="give the file's name in pictures/")
        bare = name.removeprefix("pictures/") if name else None
        if bare is None or bare in self.known.pictures:
            return bare
        if self.known.pictures:
            item.refuse(spelled("picture", bare, self.known.pictures))
        else:
            item.refuse(f"picture {shown(bare)} is not there: pictures/ holds no picture; put it there or leave the key out")
        return None

    def _region(self, item: Fields) -> tuple[int, int, int, int] | None:
        """Left, top, right, bottom in pixels; only with a picture."""
        value = item.values.get("region")
        if value is None:
            return None
        remedy = "give left, top, right, bottom in whole pixels, such as [120, 80, 640, 420]"
        if "picture" not in item:
            item.refuse(f"region is {shown(value)} without a picture; name the picture or leave the key out")
        elif isinstance(value, list) and len(value) == 4 and all(isinstance(n, int) and not isinstance(n, bool) for n in value):
            left, top, right, bottom = value
            return left, top, right, bottom
        else:
            item.refuse(f"region is {shown(value)}; {remedy}")
        return None

    def _replaces(self, kind: str, item: Fields) -> str | None:
        """`where` of the earlier item of the same kind that this one corrects; also takes up this item's own id."""
        earlier = [name for name, where in self.named.items() if where.startswith(f"{self.file}: {kind} ")]
        name, own = item.text("replaces"), item.text("id")
        where = self.named.get(name) if name in earlier else None
        if name is not None and where is None:
            item.refuse(
                spelled(f"earlier {kind}", name, earlier)
                if earlier
                else f"replaces is {shown(name)}, but no {kind} stands before this one"
            )
        if own is not None and own in self.named:
            item.refuse(
                f"id {shown(own)} is taken by {self.named[own].removeprefix(self.file + ': ')}; give each record its own id"
            )
        elif own is not None:
            self.named[own] = item.where
        self.named.setdefault(item.where.removeprefix(f"{self.file}: "), item.where)
        return where

    def _factor(self, item: Fields, kind: str | None, unit: str | None) -> float:
        """Millimetres in one of the unit, which must suit the kind of reading; 0 with the problem recorded."""
        if unit is None:
            return 0.0
        allowed = READING_UNITS[kind] if kind else tuple(MILLIMETRES)
        try:
            factor = millimetres(1.0, unit)
        except ValueError:
            item.refuse(spelled("unit", unit, allowed))
            return 0.0
        if factor not in [MILLIMETRES[word] for word in allowed]:
            item.refuse(f"unit {unit!r} does not suit a {kind} reading; {listed(allowed)}")
        return factor

    def _odd(self, item: Fields, kind: str, zone: str, value_mm: float) -> None:
        """Remark on a wall far thicker than new metal: most often the unit."""
        if kind != "wall" or self.known.plan is None:
            return
        low, high = self.known.plan.zone(zone).thickness_mm
        if value_mm > MANY_TIMES_NEW * high:
            text = f"{item.where}: {value_mm:.2f} mm where new metal measures {low:g} to {high:g} mm; check the unit"
            self.remarks.append(Remark("odd-reading", zone, text))
