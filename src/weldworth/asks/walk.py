"""What each look of somebody at the vehicle is worth: the worth of the whole inspection, shared out among its looks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from weldworth.asks.outcomes import looks_of, report_of
from weldworth.asks.recorded import Recorded
from weldworth.asks.worth import Decision, worth_of_visit
from weldworth.belief.believe import BAD, Belief
from weldworth.belief.draws import Draws
from weldworth.belief.sight import Lexicon, Source


def worth_of_looks(
    belief: Belief, zones: Sequence[int], source: Source, draws: Draws, decision: Decision, lex: Lexicon, seed: int
) -> tuple[Mapping[str, float], float]:
    """Each zone's share of what looking at all of `zones` is worth together, summing to 1, and that worth, money.

    zones : places in the plan. A look's share is its share in the variance of what the looks foretell together (the covariance
    of its part with the sum over the variance of the sum, never below 0): looks that tell the same thing share what it is worth,
    and a look that decides nothing alone still has its part in a decision that several make together.
    """
    if not zones:
        return {}, 0.0
    plan, payoff = belief.plan, decision.payoff @ decision.chance
    looks = looks_of(belief, Recorded(belief, lex), zones, source, draws, lex, payoff, seed)
    together = worth_of_visit(decision, report_of(plan, looks)).gain
    total = looks.foretold.sum(axis=0)
    parts = np.maximum((looks.foretold - looks.foretold.mean(axis=1, keepdims=True)) @ (total - total.mean()), 0.0)
    ids = [plan.zones[z].id for z in zones]
    if parts.sum() <= 0:
        return dict.fromkeys(ids, 1 / len(ids)), together
    return dict(zip(ids, (parts / parts.sum()).tolist(), strict=True)), together


def doubt_of_looks(belief: Belief, zones: Sequence[int]) -> Mapping[str, float]:
    """Each zone's share of what is unsure, summing to 1: the order of looking while no money is known.

    What is unsure of a zone is p (1 - p), with p the chance that it is pitted, holed or masked.
    """
    bad = belief.zones[list(zones)][:, list(BAD)].sum(axis=1)
    unsure = bad * (1 - bad)
    shares = unsure / unsure.sum() if unsure.sum() > 0 else np.full(len(bad), 1 / max(len(bad), 1))
    return {belief.plan.zones[z].id: float(share) for z, share in zip(zones, shares, strict=True)}
