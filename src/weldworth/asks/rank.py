"""Everything that could still be asked about one vehicle, ranked by what it is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from weldworth.asks.ask import Ask, AskSet
from weldworth.asks.foretell import foretold
from weldworth.asks.outcomes import Photo, band_chances, of_answer, of_gap, of_picture, shown_chances, visit_reports
from weldworth.asks.recorded import Recorded
from weldworth.asks.worth import Decision, Joint, Observation, choose, worth_of_each, worth_of_visit
from weldworth.belief.believe import Belief
from weldworth.belief.draws import Draws
from weldworth.belief.sight import Lexicon
from weldworth.evidence.questions import questions
from weldworth.tables import Tables
from weldworth.vehicle.plan import Zone

UNDERNEATH = "Stay beside the vehicle with the phone on a stick or held low. Never under a vehicle on a jack."
SET_DRAWS = 2048
"""Draws on which sets are chosen: enough to order them, half the time."""
PROBE = "Probe only with the owner's leave."


@dataclass(frozen=True, slots=True)
class Askable:
    """An ask without its worth yet, and what it would show."""

    ask: Ask
    observation: Observation


@dataclass(frozen=True)
class Ranking:
    """All asks by net worth, the best few together, and what knowing everything would be worth."""

    asks: tuple[Ask, ...]
    best: AskSet
    perfect: float


def rank(
    belief: Belief,
    draws: Draws,
    decision: Decision,
    tables: Tables,
    candidates: Sequence[Askable],
    *,
    lex: Lexicon,
    most: int = 5,
    seed: int = 0,
) -> Ranking:
    """The worth of every picture, question and reading of `candidates` and of every visit, best first.

    Those that could change nothing come last. most : at most so many are chosen together.
    """
    asks = judged(decision, candidates)
    order = sorted(range(len(asks)), key=lambda i: _place(asks[i]))
    best = best_set(decision, [Askable(asks[i], candidates[i].observation) for i in order], most)
    visits = _visits(belief, draws, decision, tables, lex, seed)
    return Ranking(tuple(sorted([*asks, *visits], key=_place)), best, decision.perfect - decision.value)


def judged(decision: Decision, candidates: Sequence[Askable]) -> list[Ask]:
    """The asks of `candidates`, in their order, each with what it is worth by itself."""
    worths = worth_of_each(decision, [candidate.observation for candidate in candidates])
    return [_with(candidate.ask, worth.gain, worth.changes) for candidate, worth in zip(candidates, worths, strict=True)]


def askable(
    belief: Belief,
    draws: Draws,
    tables: Tables,
    *,
    lex: Lexicon,
    spread: float,
    answered: Sequence[str] = (),
    refused: Sequence[str] = (),
    zone: str | None = None,
) -> list[Askable]:
    """Every picture, question and reading that is still missing.

    spread : see `Exposure.spread`. answered : questions that need not be put again. refused : zones and questions that were
    asked for and not given. zone : what is about this zone alone; None for everything.
    """
    zones = belief.plan.zones if zone is None else (belief.plan.zone(zone),)
    pictures, gauges = _pictures(belief, draws, tables, lex, zones, refused), _gauges(belief, draws, tables, lex, zones)
    if zone is not None:
        return [*pictures, *gauges]
    return [
        *pictures,
        *_gaps(belief, draws, tables, lex),
        *gauges,
        *_questions(belief, draws, tables, lex, {*answered, *refused}, spread),
    ]


def best_set(decision: Decision, ranked: Sequence[Askable], most: int) -> AskSet:
    """The best asks together, at most so many, chosen from `ranked`, which is best first.

    They are chosen on the first `SET_DRAWS` draws and judged on all of them, so that a set which only looks well on the draws
    that chose it is cut back.
    """
    few = Decision(decision.payoff[:SET_DRAWS], decision.chance)
    observations = [one.observation.first(SET_DRAWS) for one in ranked]
    chosen = choose(few, observations, [one.ask.cost for one in ranked], most=most) if most else []
    asked = [ranked[i] for i, _ in chosen]
    totals = joint_worths(decision, asked)
    nets = [0.0, *(total - sum(one.ask.cost for one in asked[: n + 1]) for n, total in enumerate(totals))]
    kept = int(np.argmax(nets))
    return AskSet(tuple(one.ask for one in asked[:kept]), tuple(totals[:kept]))


def joint_worths(decision: Decision, chosen: Sequence[Askable]) -> list[float]:
    """Expected gain of the first, the first two, ... of `chosen` over deciding now, before cost, money; never falling."""
    joint = Joint.none(decision.payoff.shape[0])
    totals: list[float] = []
    for one in chosen:
        totals.append(max([*totals[-1:], joint.worth_with(decision, one.observation)]))
        joint = joint.and_then(one.observation)
    return totals


def _place(ask: Ask) -> tuple[float, float, str, str]:
    """Best first: by net worth; what is worth nothing at all after everything else."""
    return (0.0 if ask.worth > 0 else 1.0, -ask.net, ask.kind, ask.zone)


def _with(ask: Ask, worth: float, changes: float) -> Ask:
    return Ask(ask.kind, ask.zone, ask.label, worth, ask.cost, changes, ask.text, ask.caution)


def _pictures(
    belief: Belief, draws: Draws, tables: Tables, lex: Lexicon, zones: Sequence[Zone], refused: Sequence[str]
) -> list[Askable]:
    usual = {int(row.number("access")): row for row in tables.rows("asks.csv", ASK_COLUMNS) if row.text("kind") == "picture"}
    recorded, shown = Recorded(belief, lex), {}
    found = []
    for zone in zones:
        row = usual.get(zone.access)
        if row is None or zone.id in refused:
            continue
        photo = Photo(row.number("quality"), row.number("delivered"))
        alike = (zone.access, zone.inside)
        if alike not in shown:
            shown[alike] = shown_chances(lex, zone, photo.quality)
        observation = of_picture(belief, recorded, zone, draws, lex, photo, shown[alike])
        ask = Ask("picture", zone.id, zone.label, 0.0, row.number("cost"), 0.0, _picture_text(zone), _caution(zone))
        found.append(Askable(ask, observation))
    return found


def _picture_text(zone: Zone) -> str:
    first = f"First move aside: {zone.uncover}. " if zone.uncover and not zone.uncover.startswith("none") else ""
    return f"Please photograph: {zone.label}. {first}{zone.photo}"


def _caution(zone: Zone) -> str:
    return UNDERNEATH if zone.station == "underneath" else ""


def _gaps(belief: Belief, draws: Draws, tables: Tables, lex: Lexicon) -> list[Askable]:
    row = next(row for row in tables.rows("asks.csv", ASK_COLUMNS) if row.text("kind") == "door-gap")
    found = []
    for place in belief.plan.places:
        hidden = [id for id in place.hidden if id in belief.plan.index]
        told = {piece.zone for piece in belief.pieces if piece.kind == f"tell {place.row}"}
        if told.issuperset(hidden):
            continue  # measured there
        text = f"Please measure: {place.name}. {place.photo}"
        ask = Ask("reading", place.id, place.name, 0.0, row.number("cost"), 0.0, text, "")
        found.append(Askable(ask, of_gap(belief.plan, hidden, place.row, draws, lex, q=row.number("quality"))))
    return found


def _gauges(belief: Belief, draws: Draws, tables: Tables, lex: Lexicon, zones: Sequence[Zone]) -> list[Askable]:
    """Readings with a gauge where the plan names one: coating thickness, wall thickness."""
    rows = {row.text("kind"): row for row in tables.rows("asks.csv", ASK_COLUMNS)}
    bands = {"coating": ("coating-thin", "coating-repaint", "coating-filler"), "wall": ("wall-thin",)}
    measured = {(piece.zone, piece.kind) for piece in belief.pieces}
    found = []
    for kind, word, text in GAUGES:
        row = rows[kind]
        for zone in zones:
            if word in zone.probe.lower() and (zone.id, kind) not in measured:
                chance = band_chances(lex, bands[kind], q=row.number("quality"), delivered=row.number("delivered"))
                ask = Ask(
                    "reading",
                    zone.id,
                    f"{zone.label}, {kind}",
                    0.0,
                    row.number("cost"),
                    0.0,
                    text.format(zone.label),
                    _caution(zone),
                )
                found.append(Askable(ask, Observation(draws.conditions[:, belief.plan.index[zone.id]].astype(np.intp), chance)))
    return found


def _questions(belief: Belief, draws: Draws, tables: Tables, lex: Lexicon, done: set[str], spread: float) -> list[Askable]:
    row = next(row for row in tables.rows("asks.csv", ASK_COLUMNS) if row.text("kind") == "question")
    found = []
    for question in questions(tables).values():
        if question.id in done:
            continue
        said = foretold(belief, draws, question.id, list(question.answers), spread, tables)
        if said is None:
            continue
        ask = Ask("question", question.id, question.text, 0.0, row.number("cost"), 0.0, question.text, question.caution)
        found.append(Askable(ask, of_answer(said, 1 - row.number("delivered"))))
    return found


def _visits(belief: Belief, draws: Draws, decision: Decision, tables: Tables, lex: Lexicon, seed: int) -> list[Ask]:
    mean, recorded = decision.payoff @ decision.chance, Recorded(belief, lex)
    found = []
    for row in tables.rows("visits.csv", VISIT_COLUMNS):
        source = lex.sources[row.text("observer")]
        reports = visit_reports(belief, recorded, int(row.number("reach")), source, draws, lex, mean, seed)
        worth = worth_of_visit(decision, reports)
        text = f"Send a {row.text('name')}. {row.text('words')}"
        found.append(
            Ask(
                "visit",
                row.text("visit"),
                row.text("name"),
                worth.gain,
                row.number("fee"),
                worth.changes,
                text,
                f"{PROBE} {UNDERNEATH}",
            )
        )
    return found


ASK_COLUMNS = ("kind", "access", "quality", "delivered", "cost")
GAUGES = (
    (
        "coating",
        "paint thickness",
        "If you have a coating gauge: three readings on {}, one of them low down, and one on the roof to compare.",
    ),
    ("wall", "ultrasonic", "If you have an ultrasonic gauge: the wall at {}, at its lowest point and where it looks best."),
)
"""Kind of reading, the word in the plan's probe text that calls for it, and what to send."""
VISIT_COLUMNS = ("visit", "name", "observer", "reach", "fee", "words")
