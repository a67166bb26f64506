"""Exact belief: given the shared effects the zones are independent, so sum over quadrature points and climb back down.

The effects form a tree: vehicle and repair history above cause groups, above families, above zones. One sweep up collects
what the evidence says of each effect; one sweep down gives every zone its probabilities. No sampling: same input, same
answer. Arrays run over (repair state R, vehicle point, group point, family point).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache, reduce

import numpy as np
from scipy.special import ndtr

from weldworth.belief.network import Array, Network
from weldworth.core.errors import BadInput, Problem

"""A zone and what its evidence says, as bytes: under it the likelihood at every point is kept."""


@dataclass(frozen=True, slots=True)
class Orders:
    """Number of quadrature points for the vehicle, the cause group and the family effect."""

    vehicle: int
    group: int
    family: int


@dataclass(frozen=True, slots=True)
class Ramp:
    """Likelihood of a sign of the cause itself (a wet carpet) as its effect grows, in standard deviations.

    P(sign) = dry + (soaked - dry) * Phi((effect - middle) / width), or one minus that when absent; to the `power`.
    """

    dry: float
    soaked: float
    middle: float
    width: float
    absent: bool = False
    power: float = 1.0

    def at(self, effect: Array) -> Array:
        """The likelihood at each value of the effect."""
        seen = self.dry + (self.soaked - self.dry) * ndtr((effect - self.middle) / self.width)
        return np.asarray((1 - seen if self.absent else seen) ** self.power)

    def through(self, q: float, blind: float) -> Ramp:
        """As told by an eye or mouth that is right with chance q and says it anyway with chance `blind` otherwise."""
        return replace(self, dry=q * self.dry + (1 - q) * blind, soaked=q * self.soaked + (1 - q) * blind)


@dataclass(frozen=True)
class Evidence:
    """What the engine is told: likelihoods, never probabilities.

    zones : zone index -> likelihood of all that was seen there given each of the six conditions, (6,).
    groups, families : cause group or family index -> signs of the cause itself.
    repair : likelihood of what was learnt of the repair history, (R,), or None.
    """

    zones: Mapping[int, Array] = field(default_factory=dict)
    groups: Mapping[int, Sequence[Ramp]] = field(default_factory=dict)
    families: Mapping[int, Sequence[Ramp]] = field(default_factory=dict)
    repair: Array | None = None


@dataclass(frozen=True)
class Posterior:
    """Belief after the evidence.

    zones : probability of each condition, (Z, 6), rows sum to 1. repair : of each repair state, (R,).
    vehicle : of each (repair state, vehicle point), (R, n). groups : per cause group (R, n, m), families : per family
    (R, n, m, k): joint probabilities with everything above them. damage : per zone, P(damage class | points), (n, m, k, 4).
    weight : per zone, likelihood of its evidence given repair state and damage class, (R, 4).
    """

    network: Network
    orders: Orders
    evidence: Evidence
    zones: Array
    repair: Array
    vehicle: Array
    groups: tuple[Array, ...]
    families: tuple[Array, ...]
    damage: tuple[Array, ...]
    weight: tuple[Array, ...]
    log_evidence: float


@lru_cache(maxsize=32)
def normal_points(order: int) -> tuple[Array, Array]:
    """Points and weights that integrate over a standard normal: the trapezoidal rule, weights brought to sum 1.

    It converges exponentially for smooth integrands, and its even spacing follows a posterior that a strong piece of evidence
    has pulled to one side, where Gauss-Hermite points lie too far apart.
    Trefethen, L. N. and Weideman, J. A. C. (2014). The exponentially convergent trapezoidal rule. SIAM Review 56(3), 385-458.
    """
    reach = min(4.6, 1.2 * order**0.6) if order > 1 else 0.0
    points = np.linspace(-reach, reach, order)
    weights = np.exp(-0.5 * points**2)
    return points, np.asarray(weights / weights.sum())


def damage_classes(network: Network, orders: Orders) -> tuple[Array, ...]:
    """P(sound, surface, pitted, holed before repairs | effects) of each zone, each (n, m, k, 4).

    Zones that share every number (a zone and its twin) share one array. Findings change none of them.
    """
    numbers = np.column_stack([network.mean, network.vehicle, network.group, network.family, network.own])
    kinds, which = np.unique(numbers, axis=0, return_inverse=True)
    classes = _classes(kinds.tobytes(), network.thresholds.tobytes(), float(network.local), orders)
    return tuple(classes[i] for i in which)


@lru_cache(maxsize=4)
def _classes(kinds: bytes, thresholds: bytes, local: float, orders: Orders) -> Array:
    """The classes of each kind of zone, (K, n, m, k, 4). kinds : (K, 5), thresholds : (3,), as bytes. Some are kept."""
    numbers, edges = np.frombuffer(kinds).reshape(-1, 5), np.frombuffer(thresholds)
    (f, _), (g, _), (u, _) = normal_points(orders.vehicle), normal_points(orders.group), normal_points(orders.family)
    mean, a, b, c, own = (column[:, None, None, None] for column in numbers.T)
    x = mean + a * f[:, None, None] + b * g[:, None] + c * u
    below = np.empty((*x.shape, 5))
    below[..., 0], below[..., 4] = 0.0, 1.0
    np.subtract(edges, x[..., None], out=below[..., 1:4])
    below[..., 1:4] /= own[..., None]
    ndtr(below[..., 1:4], out=below[..., 1:4])
    total = np.sqrt((numbers[:, 1:] ** 2).sum(axis=1))
    alone = ndtr((edges - numbers[:, :1]) / total[:, None])
    alone = np.diff(np.column_stack([np.zeros(len(numbers)), alone, np.ones(len(numbers))]), axis=1)
    classes = (1 - local) * np.diff(below, axis=-1) + local * alone[:, None, None, None, :]
    classes.setflags(write=False)
    return np.asarray(classes)


def class_weights(network: Network, likelihood: Array) -> Array:
    """Likelihood of a zone's evidence given repair state and damage class, (R, 4), from that given the six conditions."""
    kept = 1 - network.mended - network.masked
    return np.asarray(kept * likelihood[:4] + network.mended * likelihood[4] + network.masked * likelihood[5])


def infer(network: Network, evidence: Evidence, orders: Orders, damage: tuple[Array, ...] | None = None) -> Posterior:
    """The posterior of every zone and effect.

    damage : `damage_classes(network, orders)` where it is at hand already, to save doing it again.
    Raises BadInput naming each zone whose evidence has probability zero under every condition.
    """
    damage = damage if damage is not None else damage_classes(network, orders)
    up = _upward(network, evidence, orders, damage, Kept())
    groups = tuple(_group_down(up, group) for group in range(len(network.groups)))
    families = tuple(_family_down(up, family, groups[group]) for family, group in enumerate(network.group_of_family))
    zones = np.stack(
        [_zone_down(network, evidence, damage, up, z, families[family]) for z, family in enumerate(network.family_of)]
    )
    none = np.ones((len(network.repair), 4))
    scale = sum(float(np.log(likelihood.max())) for likelihood in evidence.zones.values())
    return Posterior(
        network,
        orders,
        evidence,
        zones,
        up.vehicle.sum(axis=1),
        up.vehicle,
        groups,
        families,
        damage,
        tuple(up.weights.get(z, none) for z in range(len(network.zones))),
        float(np.log(up.total)) + scale,
    )


def infer_zone(network: Network, evidence: Evidence, orders: Orders, damage: tuple[Array, ...], zone: int, kept: Kept) -> Array:
    """The six probabilities of one zone, (6,), as `infer` gives them, without the way down to the others.

    kept : from one call to the next while network and orders are the same; begin with an empty one. Raises as `infer`.
    """
    up = _upward(network, evidence, orders, damage, kept)
    family = int(network.family_of[zone])
    group = _group_down(up, int(network.group_of_family[family]))
    return _zone_down(network, evidence, damage, up, zone, _family_down(up, family, group))


_Seen = tuple[int, bytes]
"""A zone, and the weight of its evidence."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What is worked out once for many pieces of evidence that are alike. weights : see `class_weights`, with its bytes, by the
    likelihood's. factors : likelihood of a zone's evidence.

    families : the product of those of its zones, and that summed over the family's own points.
    """

    weights: dict[bytes, tuple[Array, bytes]] = field(default_factory=dict)
    factors: dict[_Seen, Array] = field(default_factory=dict)
    families: dict[tuple[_Seen, ...], tuple[Array, Array]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Upward:
    """What the evidence says, gathered from the zones up to the vehicle. vehicle : posterior (R, n); total : its mass before.

    weights, factors : by zone with evidence. Likelihoods of families and groups, and the same summed over their own points.
    """

    points: tuple[tuple[Array, Array], ...]
    weights: dict[int, Array]
    factors: dict[int, Array]
    family: dict[int, Array]
    from_family: dict[int, Array]
    group: tuple[Array, ...]
    from_group: tuple[Array, ...]
    vehicle: Array
    total: float


def _upward(network: Network, evidence: Evidence, orders: Orders, damage: tuple[Array, ...], kept: Kept) -> _Upward:
    _refuse_impossible(network, evidence, kept)
    weighed = {z: _weighed(network, likelihood, kept) for z, likelihood in evidence.zones.items()}
    weights = {z: weight for z, (weight, _) in weighed.items()}
    keys = {z: (z, key) for z, (_, key) in weighed.items()}
    for z, weight in weights.items():
        if keys[z] not in kept.factors:
            kept.factors[keys[z]] = _factor(damage[z], weight)
    factors = {z: kept.factors[key] for z, key in keys.items()}
    shape = (orders.vehicle, orders.group, orders.family)
    points = tuple(normal_points(order) for order in shape)
    family, from_family = _families_up(network, evidence, keys, kept, points, (len(network.repair), *shape))
    group = [np.ones((len(network.repair), *shape[:2])) for _ in network.groups]
    for number, message in from_family.items():
        group[network.group_of_family[number]] = group[network.group_of_family[number]] * message
    for number, ramps in evidence.groups.items():
        for ramp in ramps:
            group[number] = group[number] * ramp.at(points[1][0])
    from_group = tuple(up @ points[1][1] for up in group)
    vehicle = network.repair[:, None] * points[0][1]
    if evidence.repair is not None:
        vehicle = vehicle * evidence.repair[:, None]
    for message in from_group:
        vehicle = vehicle * message
    total = vehicle.sum()
    return _Upward(
        points, weights, factors, family, from_family, tuple(group), from_group, np.asarray(vehicle / total), float(total)
    )


def _weighed(network: Network, likelihood: Array, kept: Kept) -> tuple[Array, bytes]:
    """The class weights of one zone's evidence, and what they are known by."""
    seen = likelihood.tobytes()
    if seen not in kept.weights:
        weight = class_weights(network, likelihood / likelihood.max())
        kept.weights[seen] = weight, weight.tobytes()
    return kept.weights[seen]


def _refuse_impossible(network: Network, evidence: Evidence, kept: Kept) -> None:
    """Raise BadInput naming every zone whose evidence has probability zero; what is `kept` was found possible before."""
    problems = [
        Problem(network.zones[z], "its evidence has probability zero under every condition; check its signs against each other")
        for z, likelihood in evidence.zones.items()
        if likelihood.tobytes() not in kept.weights and not likelihood.max() > 0
    ]
    if problems:
        raise BadInput(problems)


def _factor(damage: Array, weight: Array) -> Array:
    """Likelihood of a zone's evidence given repair state and points, (R, n, m, k)."""
    flat = weight @ damage.reshape(-1, 4).T
    return flat.reshape(len(weight), *damage.shape[:3])


def _families_up(
    network: Network,
    evidence: Evidence,
    keys: Mapping[int, _Seen],
    kept: Kept,
    points: tuple[tuple[Array, Array], ...],
    shape: tuple[int, ...],
) -> tuple[dict[int, Array], dict[int, Array]]:
    """What the evidence says of each family that has any: likelihood (R, n, m, k), and summed over the family's own points."""
    members: dict[int, tuple[_Seen, ...]] = {}
    for z, key in keys.items():
        family = int(network.family_of[z])
        members[family] = (*members.get(family, ()), key)
    for seen in members.values():
        if seen not in kept.families:
            likelihood = reduce(np.multiply, (kept.factors[key] for key in seen))
            kept.families[seen] = likelihood, likelihood @ points[2][1]
    up = {family: kept.families[seen][0] for family, seen in members.items()}
    summed = {family: kept.families[seen][1] for family, seen in members.items()}
    for family, ramps in evidence.families.items():
        for ramp in ramps:
            up[family] = up.get(family, np.ones(shape)) * ramp.at(points[2][0])
            summed[family] = up[family] @ points[2][1]
    return up, summed


def _divide(joint: Array, message: Array) -> Array:
    """joint / message where the message is not zero; zero stays zero."""
    return np.divide(joint, message, out=np.zeros_like(joint), where=message > 0)


def _group_down(up: _Upward, group: int) -> Array:
    return np.asarray(_divide(up.vehicle, up.from_group[group])[..., None] * up.group[group] * up.points[1][1])


def _family_down(up: _Upward, family: int, group: Array) -> Array:
    if family not in up.family:
        return np.asarray(group[..., None] * up.points[2][1])
    return np.asarray(_divide(group, up.from_family[family])[..., None] * up.family[family] * up.points[2][1])


def _zone_down(network: Network, evidence: Evidence, damage: tuple[Array, ...], up: _Upward, z: int, family: Array) -> Array:
    joint = _divide(family, up.factors[z]) if z in up.factors else family
    classes = joint.reshape(len(network.repair), -1) @ damage[z].reshape(-1, 4)
    zone = split_by_repair(network, classes).sum(axis=0)
    if z in evidence.zones:
        zone *= evidence.zones[z] / evidence.zones[z].max()
    return np.asarray(zone / zone.sum())


def split_by_repair(network: Network, classes: Array) -> Array:
    """Probability of each condition (R, 6) from that of each damage class before repairs (R, 4)."""
    kept = classes * (1 - network.mended - network.masked)
    mended = (classes * network.mended).sum(axis=1, keepdims=True)
    masked = (classes * network.masked).sum(axis=1, keepdims=True)
    return np.concatenate([kept, mended, masked], axis=1)
