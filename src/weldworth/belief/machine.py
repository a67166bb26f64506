"""What the machine's word about a picture says of the metal: the confusion measured with it is the likelihood.

P(suggested s | condition) = q * sum over t of P(s suggested | t shows) w_t(condition) + (1 - q) * P(s suggested | nothing shows),
with w_t the chance that t is what the picture shows, from signs.csv. Silence about a sign is one minus that. Signs that were
measured on synthetic pictures alone count lightly (machine_trust.csv). See docs/method.md, "The machine's word".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from weldworth.belief.network import Array
from weldworth.belief.sight import Lexicon, Sign, lexicon
from weldworth.core.errors import BadInput, Problem
from weldworth.tables import Tables

NONE = "none"
PHOTOGRAPHS = "photographs"


@dataclass(frozen=True)
class Trust:
    """How one suggested sign is weighed.

    weight : power with which its likelihood counts, 0..1. silence : whether its absence counts. photographs : whether it was
    measured on photographs, or on synthetic pictures alone. alone : P(suggested | nothing shows). shown : P(suggested | it
    shows). chance : P(suggested | condition) for a look that could have shown everything, (6,).
    """

    weight: float
    silence: bool
    photographs: bool
    alone: float
    shown: float
    chance: Array

    def through(self, q: float, *, absent: bool) -> Array:
        """Likelihood of the suggestion, or of silence, given each condition, (6,), for a look of sharpness q."""
        said = q * self.chance + (1 - q) * self.alone
        return 1 - said if absent else said

    def told(self, tell: Sign, q: float) -> Array:
        """Likelihood of the suggestion given each condition of the metal behind, by what a tell says of it, (6,)."""
        clear = self.shown * tell.chance + self.alone * (1 - tell.chance)
        return q * clear + (1 - q) * self.alone


@lru_cache(maxsize=8)
def trusts(tables: Tables) -> Mapping[str, Trust]:
    """Read machine_signs.csv and machine_trust.csv: how each suggested sign is weighed.

    Raises BadInput naming every sign that signs.csv does not know or that lacks a row.
    """
    lex, confusion, seen = lexicon(tables), {}, set()
    for row in tables.rows("machine_signs.csv", ("suggested", "truth", "pictures", "chance", "count")):
        key = (row.text("suggested"), row.text("truth"))
        photographs = row.text("pictures") == PHOTOGRAPHS
        if photographs or key not in seen:
            confusion[key] = row.number("chance", low=0, high=1)
        if photographs:
            seen.add(key)
    rows = {row.text("sign"): row for row in tables.rows("machine_trust.csv", ("sign", "weight", "silence"))}
    problems = [
        Problem("machine_trust.csv", f"sign {sign!r} is not known in signs.csv") for sign in rows if sign not in lex.signs
    ]
    for sign in rows:
        missing = [truth for truth in (NONE, *rows) if (sign, truth) not in confusion]
        problems += [Problem("machine_signs.csv", f"has no row for {sign!r} where {truth!r} is true") for truth in missing]
    if problems:
        raise BadInput(problems)
    shares = _shown(lex, tuple(rows))
    return {
        sign: Trust(
            weight=row.number("weight", low=0, high=1),
            silence=row.number("silence", low=0, high=1) > 0,
            photographs=(sign, sign) in seen,
            alone=confusion[sign, NONE],
            shown=confusion[sign, sign],
            chance=sum((confusion[sign, truth] * share for truth, share in shares.items()), np.zeros(6)),
        )
        for sign, row in rows.items()
    }


def _shown(lex: Lexicon, signs: tuple[str, ...]) -> dict[str, Array]:
    """What a sharp picture shows given each condition: nothing of the signs, or one of them in proportion, (6,) each, sum 1."""
    chances = np.array([lex.signs[sign].chance for sign in signs])
    nothing = np.prod(1 - chances, axis=0)
    shares = (1 - nothing) * chances / chances.sum(axis=0)
    return {NONE: nothing, **dict(zip(signs, shares, strict=True))}


def suggested_signs(tables: Tables) -> tuple[str, ...]:
    """The signs that the machine may suggest."""
    return tuple(trusts(tables))
