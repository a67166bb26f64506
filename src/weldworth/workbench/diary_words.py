"""What an entry says, in the words that people use: zones and places by their labels, questions as they are asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import cast

from weldworth.belief.sight import lexicon
from weldworth.core.errors import BadInput
from weldworth.core.units import written
from weldworth.evidence.questions import REFUSED, Question, questions
from weldworth.tables.load import Tables
from weldworth.vehicle.plans import load_plan
from weldworth.workbench.ledger import Entry

LONGEST = 110
_KEYS = {
    "model_year": "model year",
    "battery_side": "battery side",
    "odometer_unit": "odometer in",
    "labour_rate": "an hour of labor at",
}


@dataclass(frozen=True)
class Words:
    """id -> words. zones : of zones and places. sources : who or what saw it. asked : the listed questions."""

    zones: Mapping[str, str] = field(default_factory=dict)
    sources: Mapping[str, str] = field(default_factory=dict)
    asked: Mapping[str, Question] = field(default_factory=dict)

    def zone(self, id: object) -> str:
        """A zone or place by its label, or as it was written where the plan does not know it."""
        return self.zones.get(str(id), str(id))

    def ask(self, key: str) -> str:
        """An ask by its key kind:zone, such as "picture: frame rail behind the axle, left"."""
        kind, _, zone = key.partition(":")
        if kind == "question" and zone in self.asked:
            return f"question: {self.asked[zone].text}"
        return f"{kind}: {self.zone(zone)}"


def words_of(body: str, tables: Tables) -> Words:
    """The words for a vehicle of this body; those of no zone where the body has no plan any more."""
    zones: dict[str, str] = {}
    if body in tables.plan_names():
        try:
            plan = load_plan(body, tables)
        except BadInput:
            pass
        else:
            zones = {place.id: place.name for place in plan.places} | {zone.id: zone.label for zone in plan.zones}
    return Words(zones, {id: source.name for id, source in lexicon(tables).sources.items()}, questions(tables))


AMOUNTS = ("low", "likely", "high", "price", "price_low", "price_high")
"""Keys of money, in the order in which they are read."""


def about(entry: Entry, words: Words, by_seq: Mapping[int, Entry]) -> str:
    """What an entry says, in one short line. by_seq : the entries of the candidate, for what was taken back."""
    said = " ".join(_said(entry, words, by_seq).split())
    said = said[:1].upper() + said[1:]
    return said if len(said) <= LONGEST else said[: LONGEST - 3].rstrip() + "..."


def seen(entry: Entry, words: Words) -> str:
    """What a finding says of its zone, and who saw it."""
    sign = str(entry.body.get("sign")).replace("-", " ")
    return f"{'no ' if entry.body.get('absent') else ''}{sign}, {_source(entry.body, words)}"


def _said(entry: Entry, words: Words, by_seq: Mapping[int, Entry]) -> str:
    body, kind = entry.body, entry.kind
    if kind == "finding":
        return f"{words.zone(body.get('zone'))}: {seen(entry, words)}"
    if kind == "reading":
        measured = f"{str(body.get('kind')).replace('-', ' ')} {body.get('value')} {written(str(body.get('unit')))}"
        return f"{words.zone(body.get('zone'))}: {measured}, {_source(body, words)}"
    if kind == "answer":
        return _answer(body.get("question"), str(body.get("answer")), words)
    if kind == "residence":
        place = body.get("place") or ", ".join(str(body[key]) for key in ("lat", "lon") if key in body) or "place not known"
        kept = f", {str(body['storage']).replace('-', ' ')}" if body.get("storage") else ""
        return f"lived in {place}, {body.get('from')} to {body.get('to', 'now')}{kept}"
    if kind == "withdrawn":
        taken = by_seq.get(cast(int, body.get("seq")))
        return f"taken back: {about(taken, words, by_seq)}" if taken else f"taken back: record {body.get('seq')}"
    if kind in ("ask-sent", "ask-arrived", "ask-refused"):
        return _ask(kind, body, words)
    return _rest(kind, entry, words)


def _source(body: Mapping[str, object], words: Words) -> str:
    return words.sources.get(str(body.get("source")), str(body.get("source")))


def _answer(question: object, answer: str, words: Words) -> str:
    known = words.asked.get(str(question))
    if known is None:
        return f"{question}: {answer}"
    return f"{known.text} {'refused' if answer == REFUSED else known.answers.get(answer, answer)}"


def _ask(kind: str, body: Mapping[str, object], words: Words) -> str:
    if kind == "ask-sent":
        asked = [words.ask(str(key)) for key in cast(Sequence[object], body.get("asks", ()))]
        return f"asked the seller for {len(asked)}: {'; '.join(asked)}"
    what = words.ask(f"{body.get('kind')}:{body.get('zone')}")
    return f"{'arrived' if kind == 'ask-arrived' else 'refused'}: {what}"


def _rest(kind: str, entry: Entry, words: Words) -> str:
    body = entry.body
    text = str(body.get("text", ""))
    if kind == "note":
        about_zone = f"{words.zone(body['zone'])}: " if body.get("zone") else ""
        return f"note: {about_zone}{text}"
    if kind == "memo":
        about_zone = f": {words.zone(body['zone'])}" if body.get("zone") else ""
        return f"voice memo of {float(str(body.get('seconds', 0))):.0f} seconds{about_zone}"
    if kind == "walk":
        if body.get("state") == "ended":
            return "walk ended"
        return f"walk of {body.get('minutes')} minutes begun, {_source(body, words)}"
    if kind == "advert":
        return f"advertisement: {text}" if text else "advertisement taken away"
    if kind == "comparables":
        count = sum(1 for line in text.splitlines()[1:] if line.strip(" ,;\t"))
        origin = f", from {body['file']}" if body.get("file") else ""
        return f"{count} comparable sales{origin}" if text else "comparable sales taken away"
    if kind == "picture":
        where = [words.zone(zone) for zone in cast(Sequence[object], body.get("zones", ()))]
        return f"picture {body.get('name')}" + (f": {'; '.join(where)}" if where else "")
    if kind == "stage":
        return f"now {body.get('stage')}" + (f" at {body['price']}" if body.get("price") is not None else "")
    if kind == "history":
        count = len(cast(Sequence[object], body.get("entries", ())))
        return f"came with its history: {count} records, the chain of hashes whole"
    if kind == "snapshot":
        return f"snapshot: {body.get('label')}"
    if kind == "archived":
        return "put away" if body.get("archived") else "back on the bench"
    if kind == "erased":
        count = len(cast(Sequence[object], body.get("pictures", ())))
        return f"erased at the seller's request: {count} picture{'' if count == 1 else 's'}, own words and name"
    heads = {"opened": "opened", "vehicle": "vehicle", "sale": "sale", "resale": "resale", "shop": "terms for this one alone"}
    told = sorted(entry.facts.items(), key=lambda item: AMOUNTS.index(item[0]) if item[0] in AMOUNTS else -1)
    facts = (f"{_KEYS.get(key, key.replace('_', ' '))} {_short(value, key in AMOUNTS)}" for key, value in told)
    return f"{heads.get(kind, kind)}: {', '.join(facts)}"


def _short(value: object, amount: bool) -> str:
    if value is None:
        return "taken away"
    if amount and isinstance(value, int | float):
        return f"{value:,.0f}"
    if isinstance(value, float) and value.is_integer():
        return f"{value:.0f}"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
