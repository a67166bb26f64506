"""An advertisement read by plain rules: facts, claims and warnings, each with the words it came from.

A claim is what the seller says of the metal: it is trusted as a seller's word and no further. Nothing is recorded here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fnmatch import fnmatchcase

from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.evidence.questions import questions
from weldworth.tables.load import Row, Tables
from weldworth.vehicle.plan import Plan
from weldworth.vehicle.plans import load_plan
from weldworth.workbench.advert_facts import Fact, Said, facts_of, said_at

COLUMNS = ("use", "words", "zones", "sign", "absent", "key", "value", "ask")
USES = ("claim", "warning", "answer", "fact")
SENTINELS = "@sentinels"
NOWHERE = "@none"
SOURCE = "seller-word"
LONGEST = 200_000


@dataclass(frozen=True, slots=True)
class Claim:
    """What the seller says of the metal. zones : that it speaks of; empty where it names none, or the body is not known.

    items : bodies of the findings that would be recorded for it. ask : what to ask for because of it.
    """

    said: Said
    sign: str
    absent: bool
    zones: tuple[str, ...]
    items: tuple[Mapping[str, object], ...]
    ask: str


@dataclass(frozen=True, slots=True)
class Warned:
    """A phrase that calls for care: what it may mean, and what to ask."""

    said: Said
    meaning: str
    ask: str


@dataclass(frozen=True, slots=True)
class Answered:
    """The answer to a listed question that the advertisement gives already."""

    said: Said
    question: str
    answer: str


@dataclass(frozen=True)
class AdvertReading:
    """What an advertisement says. vehicle, sale : the facts as bodies of entries, to be looked over before they are recorded."""

    text: str
    facts: tuple[Fact, ...] = ()
    claims: tuple[Claim, ...] = ()
    warnings: tuple[Warned, ...] = ()
    answers: tuple[Answered, ...] = ()
    vehicle: Mapping[str, object] = field(default_factory=dict)
    sale: Mapping[str, object] = field(default_factory=dict)

    @property
    def items(self) -> list[tuple[str, dict[str, object]]]:
        """Everything but the vehicle's facts as entries for `Desk.record_all`: advertisement, sale, claims, answers, warnings."""
        found: list[tuple[str, dict[str, object]]] = [("advert", {"text": self.text})]
        found += [("sale", dict(self.sale))] if self.sale else []
        found += [("finding", dict(item)) for claim in self.claims for item in claim.items]
        found += [("answer", {"question": a.question, "answer": a.answer, "note": _quoted(a.said)}) for a in self.answers]
        found += [("note", {"text": f"{_quoted(w.said)}: {w.meaning} Ask: {w.ask}"}) for w in self.warnings]
        return found


@dataclass(frozen=True)
class Rule:
    """One row of advert_words.csv with its phrases as one pattern."""

    use: str
    pattern: re.Pattern[str]
    zones: tuple[str, ...]
    sign: str
    absent: bool
    key: str
    value: str
    ask: str


def advert_rules(tables: Tables) -> list[Rule]:
    """The rows of advert_words.csv; raises BadInput with every row that cannot be used."""
    rules, problems = [], []
    known = {question.id: question for question in questions(tables).values()}
    for row in tables.rows("advert_words.csv", COLUMNS):
        use, key, value = row.text("use"), row.text("key"), row.text("value")
        phrases = [phrase.strip() for phrase in row.text("words").split("|")]
        if use not in USES:
            problems.append(Problem(row.where, unknown("use", use, USES)))
        elif not all(phrases):
            problems.append(Problem(row.where, "words has an empty phrase; write phrases with | between"))
        elif use == "answer" and (key not in known or not known[key].weighed(value)):
            problems.append(Problem(row.where, f"{key}: {value} is no listed question with a listed answer"))
        else:
            rules.append(_rule(row, use, phrases))
    if problems:
        raise BadInput(problems)
    return rules


def _rule(row: Row, use: str, phrases: Sequence[str]) -> Rule:
    parts = []
    for phrase in sorted(phrases, key=len, reverse=True):
        words = [r"(?:\d{1,4}|few|some|many|several)" if word == "#" else re.escape(word) for word in phrase.split()]
        parts.append(r"[\s,]+".join(words))
    pattern = re.compile(r"(?<![\w-])(?:" + "|".join(parts).replace("'", "['\u2019]") + r")(?![\w-])", re.IGNORECASE)
    zones = tuple(row.text("zones").split())
    return Rule(
        use, pattern, zones, row.text("sign"), row.text("absent") == "yes", row.text("key"), row.text("value"), row.text("ask")
    )


def read_advert(text: str, tables: Tables, *, body: str | None = None, today: date) -> AdvertReading:
    """What the advertisement says; claims are put on zones where the body plan is given or named in the text.

    Raises BadInput where the text is empty or too long, or the body is not known.
    """
    if not text.strip() or len(text) > LONGEST:
        told = "is empty; paste the advertisement" if not text.strip() else f"is longer than {LONGEST:,} characters"
        raise BadInput([Problem("text", told)])
    rules = advert_rules(tables)
    facts = [*facts_of(text, tables, today), *_worded(text, rules)]
    vehicle, sale = ({fact.key: fact.value for fact in reversed(facts) if fact.kind == kind} for kind in ("vehicle", "sale"))
    plan = None
    if body or vehicle.get("body"):
        plan = load_plan(body or str(vehicle["body"]), tables)
        vehicle["body"] = plan.body
    if sale:
        sale.setdefault("kind", "asked")
    claims = _claims(text, rules, plan)
    return AdvertReading(
        text=text,
        facts=tuple(facts),
        claims=tuple(claims),
        warnings=tuple(Warned(said, rule.value, rule.ask) for rule, said in _found(text, rules, "warning")),
        answers=tuple(_answers(text, rules)),
        vehicle=vehicle,
        sale=sale,
    )


def _found(text: str, rules: Sequence[Rule], use: str) -> list[tuple[Rule, Said]]:
    """Where the rules of one use speak, in order; of two that overlap the longer one."""
    hits = [(rule, m) for rule in rules if rule.use == use for m in rule.pattern.finditer(text)]
    hits.sort(key=lambda hit: (-(hit[1].end() - hit[1].start()), hit[1].start()))
    taken: list[tuple[Rule, re.Match[str]]] = []
    for rule, match in hits:
        if all(match.end() <= other.start() or match.start() >= other.end() for _, other in taken):
            taken.append((rule, match))
    return [(rule, said_at(match)) for rule, match in sorted(taken, key=lambda hit: hit[1].start())]


def _quoted(said: Said) -> str:
    return f"advertisement: \u201c{' '.join(said.words.split())}\u201d"


def _claims(text: str, rules: Sequence[Rule], plan: Plan | None) -> Iterator[Claim]:
    """The claims, each zone and sign once: what is said twice is not truer for it."""
    spoken: set[tuple[str, str, bool]] = set()
    for rule, said in _found(text, rules, "claim"):
        zones = [z for z in (_zones(rule, plan) if plan else ()) if (z, rule.sign, rule.absent) not in spoken]
        spoken |= {(zone, rule.sign, rule.absent) for zone in zones}
        body: dict[str, object] = {"sign": rule.sign, "source": SOURCE, "note": _quoted(said)}
        if rule.absent:
            body["absent"] = True
        items = tuple({"zone": zone, **body} for zone in zones)
        yield Claim(said, rule.sign, rule.absent, tuple(zones), items, rule.ask)


def _zones(rule: Rule, plan: Plan) -> list[str]:
    """The zones that a rule speaks of: patterns on the part of the id after the body's own letters.

    Praise of many zones in one breath is put on those of them that usually rust first: said once, it must not count as often
    as there are zones. An admission is put on all of them.
    """
    if NOWHERE in rule.zones:
        return []
    sentinels = list(dict.fromkeys(s.zone for s in plan.sentinels if s.zone in plan.index))
    if SENTINELS in rule.zones:
        return sentinels
    kinds = {zone.id: zone.kind.partition(".")[2] for zone in plan.zones}
    meant = [id for id, kind in kinds.items() if any(fnmatchcase(kind, pattern) for pattern in rule.zones)]
    first = [id for id in meant if id in sentinels]
    return first if rule.absent and first else meant


def _answers(text: str, rules: Sequence[Rule]) -> Iterator[Answered]:
    told: set[str] = set()
    for rule, said in _found(text, rules, "answer"):
        if rule.key not in told:
            told.add(rule.key)
            yield Answered(said, rule.key, rule.value)


def _worded(text: str, rules: Sequence[Rule]) -> Iterator[Fact]:
    for rule, said in _found(text, rules, "fact"):
        yield Fact("vehicle", rule.key, rule.value, said)
