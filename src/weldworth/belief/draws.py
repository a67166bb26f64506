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
    state = root // n
    used = [_used(state, node, n * m * k) for node in nodes]
    by_zone = np.empty((len(network.zones), draws), dtype=np.int8)
    for z, family in enumerate(network.family_of):
        by_zone[z] = _conditions(posterior, z, used[family], rng)
    return Draws(by_zone.T, state, root % n, np.column_stack(groups))


def _pick(joint: Array, row: NDArray[np.intp], rng: np.random.Generator) -> NDArray[np.intp]:
    """One column per draw, from the distribution that its row of `joint` gives."""
    return _picked(np.array(joint.T, order="C"), row, rng).astype(np.intp)


def _picked(cumulative: Array, row: NDArray[np.intp], rng: np.random.Generator) -> NDArray[np.int8]:
    """The same for the distributions as columns, (columns, rows), which are added up in place."""
    for column in range(1, len(cumulative)):
        cumulative[column] += cumulative[column - 1]
    target = rng.random(row.size) * cumulative[-1].take(row)
    found = np.zeros(row.size, dtype=np.int8)
    for bound in cumulative[:-1]:
        found += bound.take(row) <= target
    return found


@dataclass(frozen=True, slots=True)
class _Used:
    """The pairs of repair state and family node that occur in the draws: the nodes of each state; row : (N,) which pair
    each draw has. Fewer than there are, so that less need be worked out for each zone of the family."""

    nodes: tuple[NDArray[np.intp], ...]
    row: NDArray[np.intp]


def _used(state: NDArray[np.intp], node: NDArray[np.intp], nodes: int) -> _Used:
    states = int(state.max()) + 1
    pair = state * nodes + node
    occurs = np.zeros((states, nodes), dtype=np.bool_)
    occurs.ravel()[pair] = True
    place = np.cumsum(occurs.ravel()) - 1
    return _Used(tuple(np.flatnonzero(one) for one in occurs), place.take(pair))


def _conditions(posterior: Posterior, z: int, used: _Used, rng: np.random.Generator) -> NDArray[np.int8]:
    network = posterior.network
    classes = posterior.damage[z].reshape(-1, 4)
    seen = posterior.evidence.zones.get(z, np.ones(6))
    kept = (1 - network.mended - network.masked) * seen[:4]
    table = np.empty((6, sum(nodes.size for nodes in used.nodes)))
    start = 0
    for r, nodes in enumerate(used.nodes):
        part, here = classes.take(nodes, axis=0), slice(start, start + nodes.size)
        table[:4, here] = part.T * kept[r][:, None]
        table[4, here] = part @ network.mended[r] * seen[4]
        table[5, here] = part @ network.masked[r] * seen[5]
        start += nodes.size
    return _picked(table, used.row, rng)
