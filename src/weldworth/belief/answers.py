"""What the seller's answers say: of the repair history, of the exposure, of zones, and of money set aside.

Each listed answer has its effects in answers.csv; a free text is kept and not weighed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fnmatch import fnmatchcase

import numpy as np

from weldworth.belief.engine import Ramp
from weldworth.belief.pieces import Piece
from weldworth.belief.sight import Lexicon, lexicon, seen
from weldworth.core.remark import Remark
from weldworth.evidence.records import Answer
from weldworth.tables import Row, Tables
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.vehicle.plan import Plan, Zone

COLUMNS = ("question", "answer", "effect", "target", "what", "amount")


@dataclass(frozen=True)
class Heard:
    """What was made of the answers.

    repaired, well : repair history, see `network.repair_prior`. multipliers : cause group -> factor on E.
    effects : answer and row of those that bear on zones. reserve : money set aside for what the answers admit.
    """

    repaired: float
    well: float
    multipliers: Mapping[str, float] = field(default_factory=dict)
    effects: tuple[tuple[Answer, Row], ...] = ()
    reserve: float = 0.0
    remarks: tuple[Remark, ...] = ()
    lex: Lexicon | None = None
    ramps: Mapping[tuple[str, str], Ramp] = field(default_factory=dict)

    def pieces(self, plan: Plan) -> list[Piece]:
        """The pieces of evidence of all answers. One answer that speaks of n zones is n weak voices, not n strong ones:
        each counts with the power 1 / sqrt(n)."""
        return [piece for answer, row in self.effects for piece in _pieces(plan, answer, row, self)]


def hear(
    answers: Sequence[Answer],
    tables: Tables,
    *,
    history: str = "unknown",
    lived: bool = False,
    ramps: Mapping[tuple[str, str], Ramp] | None = None,
) -> Heard:
    """Weigh the answers.

    history : row of repair_history.csv that the answers start from. lived : the places are known from the history, so what
    the answers say of places, winters and ground is already counted there and only noted.
    """
    known = {row.text("history"): row for row in tables.rows("repair_history.csv", ("history", "name", "repaired", "well"))}
    repaired, well = known[history].number("repaired"), known[history].number("well")
    effects_of = tables.once(("answers", "effects"), lambda: _effects(tables))
    multipliers: dict[str, float] = {}
    effects: list[tuple[Answer, Row]] = []
    remarks: list[Remark] = []
    reserve = 0.0
    causes = [
        row.text("cause") for row in tables.rows("causes.csv", ("cause", "name", "channel", "vehicle", "group", "family", "own"))
    ]
    for answer in sorted(answers, key=lambda a: (a.question, a.answer)):
        for row in effects_of.get((answer.question, answer.answer), ()):
            effect, amount = row.text("effect"), row.number("amount")
            if effect == "repaired":
                repaired = amount
            elif effect == "well":
                well = amount
            elif effect == "exposure" and not (lived and answer.question in LIVED):
                for cause in causes if row.text("target") == "*" else row.text("target").split("|"):
                    multipliers[cause] = multipliers.get(cause, 1.0) * amount
            elif effect == "reserve":
                reserve += amount
            elif effect == "remark":
                remarks.append(Remark("answer", answer.question, row.text("what")))
            elif effect != "exposure":
                effects.append((answer, row))
    return Heard(repaired, well, multipliers, tuple(effects), reserve, tuple(remarks), lexicon(tables), ramps or {})


def _effects(tables: Tables) -> dict[tuple[str, str], list[Row]]:
    """The rows of each listed answer."""
    found: dict[tuple[str, str], list[Row]] = {}
    for row in tables.rows("answers.csv", COLUMNS):
        found.setdefault((row.text("question"), row.text("answer")), []).append(row)
    return found


LIVED = ("places", "salted-winters", "standing")


def chosen(plan: Plan, target: str) -> list[Zone]:
    """The zones that a target means: patterns of zone kinds joined by |, or key=value pairs that must all hold."""
    if "=" in target:
        pairs = [pair.split("=", 1) for pair in target.split()]
        return [zone for zone in plan.zones if all(str(getattr(zone, key)) == value for key, value in pairs)]
    patterns = target.split("|")
    return [zone for zone in plan.zones if any(fnmatchcase(zone.kind, pattern) for pattern in patterns)]


def _pieces(plan: Plan, answer: Answer, row: Row, heard: Heard) -> list[Piece]:
    lex, effect, what, amount = heard.lex, row.text("effect"), row.text("what"), row.number("amount")
    assert lex is not None
    text = f"answer to {answer.question}: {answer.answer}"
    q = lex.sources["seller-answer"].exposed
    if effect in ("wet", "dry"):
        found = []
        for cause in row.text("target").split("|"):
            zone = next((zone for zone in plan.zones if zone.cause == cause), None)
            ramp = heard.ramps.get((what, cause))
            if zone is not None and ramp is not None:
                dim = replace(ramp.through(q, lex.sight["blind_damage"]), absent=effect == "dry")
                found.append(Piece(answer.where, zone.id, text, f"answer {answer.question}", np.zeros(6), dim))
        return found
    if effect in ("drop", "level"):
        zones = [plan.zone(id) for place in plan.places for id in place.hidden if id in plan.index]
        told = q * lex.tells[what].chance + (1 - q) * lex.sight["blind_damage"]
        likelihood = 1 - told if effect == "level" else told
    elif effect == "odds":
        zones = chosen(plan, row.text("target"))
        likelihood = np.array([amount if condition == what else 1.0 for condition in CONDITIONS])
    else:
        zones = chosen(plan, row.text("target"))
        sign = lex.signs[what]
        likelihood = seen(lex, sign, 1.0 if sign.kind == "refusal" else q, absent=False)
    weight = 1 / np.sqrt(max(1, len(zones)))
    return [Piece(answer.where, zone.id, text, f"answer {answer.question}", weight * np.log(likelihood)) for zone in zones]
