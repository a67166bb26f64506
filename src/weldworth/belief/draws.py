"""Joint draws of every zone's condition from the posterior, for the bill: zones stay correlated, so the tail stays fat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weldworth.belief.engine import Posterior
from weldworth.belief.network import Array


@dataclass(frozen=True)
class Draws:
    """Joint draws of a vehicle.

    conditions : condition code 0..5 of every zone, (N, Z). repair : repair state, (N,). vehicle : quadrature point of the
    vehicle effect, (N,). groups : quadrature point of each cause group's effect, (N, K).
    """

    conditions: NDArray[np.int8]
    repair: NDArray[np.intp]
    vehicle: NDArray[np.intp]
    groups: NDArray[np.intp]

    def first(self, draws: int) -> Draws:
        """The same for the first so many draws."""
        return Draws(self.conditions[:draws], self.repair[:draws], self.vehicle[:draws], self.groups[:draws])


def draw(posterior: Posterior, draws: int, seed: int) -> Draws:
    """Ancestral draws from the quadrature points, stratified at the top. Same posterior, draws and seed: same arrays."""
    rng = np.random.default_rng(seed)
    network, orders = posterior.network, posterior.orders
    n, m, k = orders.vehicle, orders.group, orders.family
    top = np.cumsum(posterior.vehicle.ravel())
    strata = (rng.permutation(draws) + rng.random(draws)) / draws
    root = np.minimum(np.searchsorted(top / top[-1], strata, side="right"), top.size - 1)
    groups = [_pick(joint.reshape(-1, m), root, rng) for joint in posterior.groups]
    nodes = []
    for family, joint in enumerate(posterior.families):
        above = root * m + groups[network.group_of_family[family]]
        nodes.append((above % (n * m)) * k + _pick(joint.reshape(-1, k), above, rng))
    conditions = np.empty((draws, len(network.zones)), dtype=np.int8)
    for z, family in enumerate(network.family_of):
        conditions[:, z] = _conditions(posterior, z, root // n, nodes[family], rng)
    return Draws(conditions, root // n, root % n, np.column_stack(groups))


def _pick(joint: Array, row: NDArray[np.intp], rng: np.random.Generator) -> NDArray[np.intp]:
    """One column per draw, from the distribution that its row of `joint` gives."""
    cumulative = np.cumsum(joint, axis=1)
    target = rng.random(row.size) * cumulative[row, -1]
    return np.asarray(np.minimum((cumulative[row] <= target[:, None]).sum(axis=1), joint.shape[1] - 1))


def _conditions(
    posterior: Posterior, z: int, state: NDArray[np.intp], node: NDArray[np.intp], rng: np.random.Generator
) -> NDArray[np.int8]:
    network = posterior.network
    classes = posterior.damage[z].reshape(-1, 4)
    seen = posterior.evidence.zones.get(z, np.ones(6))
    kept = (1 - network.mended - network.masked) * seen[:4]
    table = np.empty((len(network.repair), classes.shape[0], 6))
    for r in range(len(network.repair)):
        table[r, :, :4] = classes * kept[r]
        table[r, :, 4] = classes @ network.mended[r] * seen[4]
        table[r, :, 5] = classes @ network.masked[r] * seen[5]
    flat = table.reshape(-1, 6)
    return _pick(flat, state * classes.shape[0] + node, rng).astype(np.int8)
