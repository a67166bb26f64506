"""How likely each answer to a question is in each draw, up to a factor: the reverse of weighing an answer that came."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from weldworth.belief.answers import Heard, hear
from weldworth.belief.believe import Belief
from weldworth.belief.draws import Draws
from weldworth.belief.engine import normal_points
from weldworth.belief.network import Array, repair_prior, settings
from weldworth.evidence.records import Answer
from weldworth.tables import Tables


def foretold(
    belief: Belief, draws: Draws, question: str, listed: Sequence[str], spread: float, tables: Tables
) -> dict[str, Array] | None:
    """Relative likelihood of each listed answer in each draw, (N,); None where no answer would say anything of the metal.

    spread : standard deviation of ln E that is not known, see `Exposure.spread`: where the life is known, an answer about
    places or winters can say nothing new.
    """
    said = {answer: hear([Answer(question, answer, where=question)], tables, ramps=belief.heard.ramps) for answer in listed}
    usual = hear((), tables)
    logs = {answer: _log_likelihood(belief, draws, heard, usual, spread, tables) for answer, heard in said.items()}
    if all(np.ptp(log) < 1e-9 for log in logs.values()):
        return None
    return {answer: np.exp(log) for answer, log in logs.items()}


def _log_likelihood(belief: Belief, draws: Draws, heard: Heard, usual: Heard, spread: float, tables: Tables) -> Array:
    """Of one answer. usual : what is believed where nothing was answered."""
    network, plan = belief.network, belief.plan
    log = np.zeros(len(draws.repair))
    if (heard.repaired, heard.well) != (usual.repaired, usual.well):
        tilt = np.log(repair_prior(heard.repaired, heard.well, tables) / repair_prior(usual.repaired, usual.well, tables))
        log += tilt[draws.repair]
    if heard.multipliers and spread > 0:
        shift = float(np.mean([np.log(factor) for factor in heard.multipliers.values()]))
        points, blur = normal_points(belief.posterior.orders.vehicle)[0], settings(tables, "answers")["life_blur"]
        log += _exposure(network.vehicle.max(), spread, shift, blur, points)[draws.vehicle]
    for piece in heard.pieces(plan):
        if piece.ramp is not None:
            group = network.group_of[plan.index[piece.zone]]
            points = normal_points(belief.posterior.orders.group)[0]
            log += np.log(piece.ramp.at(points))[draws.groups[:, group]]
        else:
            log += piece.log_likelihood[draws.conditions[:, plan.index[piece.zone]]]
    return log


def _exposure(vehicle: float, spread: float, shift: float, blur: float, points: Array) -> Array:
    """Log-likelihood of an answer that puts ln E off by `shift`, at each point of the vehicle effect.

    ln E is part of the vehicle effect: given that effect f (in standard deviations), it is normal with mean
    spread^2 f / vehicle and variance spread^2 (1 - spread^2 / vehicle^2); the answer leaves `blur`.
    """
    mean = spread**2 * points / vehicle
    variance = spread**2 * (1 - spread**2 / vehicle**2) + blur**2
    return np.asarray(-((shift - mean) ** 2) / (2 * variance))
