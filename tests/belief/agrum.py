"""An independent exact engine on the identical discrete network: pyAgrum, built node by node from the definition."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from weldworth.belief.engine import Evidence, Orders, normal_points
from weldworth.belief.network import Network


def conditions_by_hand(network: Network, z: int, f: float, g: float, u: float) -> np.ndarray:
    """P(condition | repair state, effects) of one zone, (R, 6), written out from the definition in docs/method.md."""
    x = network.mean[z] + network.vehicle[z] * f + network.group[z] * g + network.family[z] * u
    total = np.sqrt(network.vehicle[z] ** 2 + network.group[z] ** 2 + network.family[z] ** 2 + network.own[z] ** 2)
    at_least = (
        [1.0]
        + [
            (1 - network.local) * ndtr((x - t) / network.own[z]) + network.local * ndtr((network.mean[z] - t) / total)
            for t in network.thresholds
        ]
        + [0.0]
    )
    classes = [at_least[i] - at_least[i + 1] for i in range(4)]
    rows = []
    for r in range(len(network.repair)):
        moved = network.mended[r] + network.masked[r]
        kept = [classes[i] * (1 - moved[i]) for i in range(4)]
        rows.append([*kept, float(classes @ network.mended[r]), float(classes @ network.masked[r])])
    return np.array(rows)


class Agrum:
    """The same discrete network, built node by node from the definition, and solved by lazy propagation in pyAgrum."""

    def __init__(self, network: Network, orders: Orders) -> None:
        why = "pyAgrum cannot be imported here (it needs the system library libgomp1)"
        gum = pytest.importorskip("pyagrum", reason=why, exc_type=ImportError)
        self.gum = gum
        self.net = net = gum.BayesNet()
        self.points = [normal_points(n) for n in (orders.vehicle, orders.group, orders.family)]
        self.repair = net.add(gum.LabelizedVariable("repair", "", len(network.repair)))
        vehicle = net.add(gum.LabelizedVariable("vehicle", "", orders.vehicle))
        self.groups = [net.add(gum.LabelizedVariable(f"g{i}", "", orders.group)) for i in range(len(network.groups))]
        self.families = [net.add(gum.LabelizedVariable(f"u{i}", "", orders.family)) for i in range(len(network.group_of_family))]
        net.cpt(self.repair).fillWith(network.repair.tolist())
        for nodes, (_, weights) in zip(([vehicle], self.groups, self.families), self.points, strict=True):
            for node in nodes:
                net.cpt(node).fillWith(weights.tolist())
        self.zones = []
        for z in range(len(network.zones)):
            node = net.add(gum.LabelizedVariable(f"z{z}", "", 6))
            for parent in (self.repair, vehicle, self.groups[network.group_of[z]], self.families[network.family_of[z]]):
                net.addArc(parent, node)
            (f, _), (g, _), (u, _) = self.points
            table = [conditions_by_hand(network, z, a, b, c).ravel() for c in u for b in g for a in f]
            shape = (orders.family, orders.group, orders.vehicle, len(network.repair), 6)
            net.cpt(node)[:] = np.array(table).reshape(shape)
            self.zones.append(node)
        self.engine = gum.LazyPropagation(net)
        self.watched: dict[int, int] = {}

    def watch(self, z: int, shows: np.ndarray, chance: np.ndarray, *, suggested: bool) -> None:
        """A picture of zone z and a machine that looks at it, as nodes of their own.

        shows : P(what shows | condition), (truths, 6). chance : P(the machine suggests its sign | what shows), (truths,).
        """
        picture = self.net.add(self.gum.LabelizedVariable(f"shows{len(self.watched)}", "", len(shows)))
        self.net.addArc(self.zones[z], picture)
        self.net.cpt(picture)[:] = shows.T
        said = self.net.add(self.gum.LabelizedVariable(f"said{len(self.watched)}", "", 2))
        self.net.addArc(picture, said)
        self.net.cpt(said)[:] = np.column_stack([1 - chance, chance])
        self.watched[said] = int(suggested)
        self.engine = self.gum.LazyPropagation(self.net)

    def marginals(self, evidence: Evidence) -> np.ndarray:
        """All posteriors, (Z, 6)."""
        self.engine.eraseAllEvidence()
        for said, value in self.watched.items():
            self.engine.addEvidence(said, value)
        for z, likelihood in evidence.zones.items():
            self.engine.addEvidence(self.zones[z], likelihood.tolist())
        effects = ((self.groups, evidence.groups, self.points[1][0]), (self.families, evidence.families, self.points[2][0]))
        for nodes, given, at in effects:
            for i, ramps in given.items():
                self.engine.addEvidence(nodes[i], np.prod([ramp.at(at) for ramp in ramps], axis=0).tolist())
        if evidence.repair is not None:
            self.engine.addEvidence(self.repair, evidence.repair.tolist())
        self.engine.makeInference()
        return np.array([self.engine.posterior(node).toarray() for node in self.zones])
