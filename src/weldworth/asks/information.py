"""The value of information of plain decision theory, before any talk of pictures and zones.

One decides among actions under an unknown state. Information is worth what it adds to the best expected payoff.
Raiffa, H. and Schlaifer, R. (1961). Applied Statistical Decision Theory. Harvard; Howard, R. A. (1966). Information
value theory. IEEE Trans. Systems Science and Cybernetics 2(1), 22-26.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weldworth.core.errors import BadInput, Problem

FloatArray = NDArray[np.float64]
_CLOSE = 1e-9


def evpi(prior: ArrayLike, payoff: ArrayLike) -> FloatArray:
    """Expected value of perfect information: what knowing the state before acting is worth.

    prior : (..., states), probabilities.   payoff : (actions, states), money; give walking away its own row.
    Returns (...), in the money of `payoff`, never negative.

    >>> float(evpi([0.5, 0.3, 0.2], [[-70, 50, 200], [0, 0, 0]]))
    35.0

    Raises BadInput for shapes that do not fit or a prior that is not a probability.
    """
    chance, gain = _checked(prior, payoff)
    knowing = chance @ gain.max(axis=0)
    return np.asarray(np.maximum(knowing - _best(chance, gain), 0.0))


def evsi(prior: ArrayLike, likelihood: ArrayLike, payoff: ArrayLike) -> FloatArray:
    """Expected value of sample information: what seeing one outcome before acting is worth, before its cost.

    prior : (..., states), probabilities.   likelihood : (..., outcomes, states), P(outcome | state); each state's
    column sums to 1.   payoff : (actions, states), money; give walking away its own row.
    Returns (...), in the money of `payoff`, never negative and never above `evpi`.

    >>> round(float(evsi([0.5, 0.3, 0.2], [[.6, .3, .1], [.3, .4, .4], [.1, .3, .5]], [[-70, 50, 200], [0, 0, 0]])), 9)
    12.5

    Raises BadInput for shapes that do not fit, or where prior or likelihood are not probabilities.
    """
    chance, gain = _checked(prior, payoff)
    says = np.asarray(likelihood, dtype=np.float64)
    problems = []
    if says.ndim < 2 or says.shape[-1] != chance.shape[-1]:
        problems.append(Problem("likelihood", f"shape {says.shape} does not end in (outcomes, {chance.shape[-1]} states)"))
    elif not (np.all(says >= 0) and np.allclose(says.sum(axis=-2), 1.0, rtol=0, atol=_CLOSE)):
        problems.append(Problem("likelihood", "the chances of the outcomes must sum to 1 in every state and be 0 or more"))
    if problems:
        raise BadInput(problems)
    joint = says * chance[..., np.newaxis, :]
    after = np.matmul(joint, gain.T).max(axis=-1).sum(axis=-1)
    return np.asarray(np.maximum(after - _best(chance, gain), 0.0))


def _best(chance: FloatArray, gain: FloatArray) -> FloatArray:
    """The best expected payoff with what is known now; (...)."""
    return np.asarray((chance @ gain.T).max(axis=-1))


def _checked(prior: ArrayLike, payoff: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """The two as arrays; raises BadInput with all that is wrong with them."""
    chance, gain = np.asarray(prior, dtype=np.float64), np.asarray(payoff, dtype=np.float64)
    problems = []
    if chance.ndim < 1 or not (np.all(chance >= 0) and np.allclose(chance.sum(axis=-1), 1.0, rtol=0, atol=_CLOSE)):
        problems.append(Problem("prior", "the chances of the states must sum to 1 and be 0 or more"))
    if gain.ndim != 2 or gain.shape[0] == 0 or (chance.ndim >= 1 and gain.shape[1] != chance.shape[-1]):
        problems.append(Problem("payoff", f"shape {gain.shape} is not (actions, states) with the states of the prior"))
    elif not np.all(np.isfinite(gain)):
        problems.append(Problem("payoff", "holds a value that is not a finite number"))
    if problems:
        raise BadInput(problems)
    return chance, gain
