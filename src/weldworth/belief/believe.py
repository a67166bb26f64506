"""The belief about one vehicle, and the reasons for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date
from functools import lru_cache

import numpy as np

from weldworth.belief.answers import Heard, hear
from weldworth.belief.damping import damp, damp_ranked
from weldworth.belief.engine import Evidence, Kept, Orders, Posterior, infer, infer_zone
from weldworth.belief.machine import trusts
from weldworth.belief.network import Array, Network, build, settings
from weldworth.belief.pieces import Piece, Reader, cause_signs, combine, read_pieces
from weldworth.belief.sight import lexicon
from weldworth.evidence.pictures import Look
from weldworth.evidence.records import Finding, Reading
from weldworth.exposure.result import Exposure
from weldworth.tables import Tables
from weldworth.vehicle.conditions import CONDITIONS, HOLED, MASKED, PITTED
from weldworth.vehicle.plan import Plan

BAD = (PITTED, HOLED, MASKED)


@dataclass(frozen=True, slots=True)
class Reason:
    """What one record does to one zone: log-odds of pitted, holed or masked with all evidence, minus those without it."""

    where: str
    text: str
    zone: str
    moved: float


@dataclass(frozen=True)
class Belief:
    """Probability of each condition of each zone, before and after the evidence, with what it rests on.

    prior, zones : (Z, 6) in the plan's order. repair : probability of each repair state (left alone, mended, dressed), (R,).
    """

    plan: Plan
    network: Network
    prior: Array
    posterior: Posterior
    pieces: tuple[Piece, ...]
    heard: Heard

    @property
    def zones(self) -> Array:
        """Probability of each condition of each zone, (Z, 6), rows sum to 1."""
        return self.posterior.zones

    @property
    def repair(self) -> Mapping[str, float]:
        """Probability that the vehicle was left alone, honestly mended or dressed for sale."""
        return dict(zip(self.network.repair_states, self.posterior.repair.tolist(), strict=True))

    def of(self, zone: str) -> dict[str, float]:
        """The six probabilities of one zone, by condition; raises BadInput for a zone that is not there."""
        self.plan.zone(zone)
        return dict(zip(CONDITIONS, self.zones[self.plan.index[zone]].tolist(), strict=True))


def orders(tables: Tables) -> Orders:
    """The quadrature orders of model.toml."""
    values = settings(tables, "quadrature")
    return Orders(int(values["vehicle"]), int(values["group"]), int(values["family"]))


def believe(
    plan: Plan,
    exposure: Exposure,
    records: Sequence[Finding | Reading | Look],
    tables: Tables,
    *,
    today: date,
    heard: Heard | None = None,
) -> Belief:
    """Belief about every zone of the vehicle from its exposure, the standing records and what the seller answered.

    Raises BadInput with the problems of all records at once, or naming zones whose evidence is impossible.
    """
    told = heard if heard is not None else hear((), tables)
    network = build(plan, exposure, tables, repaired=told.repaired, well=told.well, multipliers=told.multipliers)
    reader = Reader(plan, network, exposure, lexicon(tables), cause_signs(tables), today, trusts(tables))
    pieces = damp(plan, [*read_pieces(reader, records), *told.pieces(plan)], reader.lex.damping)
    size = orders(tables)
    prior, damage = _before(_Numbers.of(network), size)
    posterior = infer(network, combine(plan, network, pieces), size, damage)
    return Belief(plan, network, prior, posterior, tuple(pieces), told)


@dataclass(frozen=True)
class _Numbers:
    """A network that is known by its numbers: one finding more leaves them as they are."""

    key: tuple[object, ...]
    network: Network = field(compare=False)

    @classmethod
    def of(cls, network: Network) -> _Numbers:
        parts = (getattr(network, item.name) for item in fields(network))
        return cls(tuple(part.tobytes() if isinstance(part, np.ndarray) else part for part in parts), network)


@lru_cache(maxsize=8)
def _before(numbers: _Numbers, size: Orders) -> tuple[Array, tuple[Array, ...]]:
    """Probability of each condition of each zone before any evidence, (Z, 6), and the damage classes. Some are kept."""
    found = infer(numbers.network, Evidence(), size)
    found.zones.setflags(write=False)
    return found.zones, found.damage


def log_odds(probability: Array) -> Array:
    """Log-odds of bad metal (pitted, holed or masked) from the six probabilities, (...,)."""
    bad = probability[..., BAD].sum(axis=-1)
    return np.asarray(np.log(bad) - np.log1p(-bad))


def reasons(belief: Belief, zone: str, tables: Tables) -> list[Reason]:
    """What moved this zone, strongest first: each record taken away in turn, the rest damped anew, in log-odds of bad metal.

    Records that move it by less than 0.01 are left out. Raises BadInput for a zone that is not there.
    """
    belief.plan.zone(zone)
    z = belief.plan.index[zone]
    whole = log_odds(belief.zones[z])
    damping = settings(tables, "damping")
    found: list[Reason] = []
    kept = Kept()
    for where in sorted({piece.where for piece in belief.pieces}):
        rest = damp_ranked(belief.plan, [piece for piece in belief.pieces if piece.where != where], damping)
        evidence = combine(belief.plan, belief.network, rest)
        without = infer_zone(belief.network, evidence, belief.posterior.orders, belief.posterior.damage, z, kept)
        moved = float(whole - log_odds(without))
        if abs(moved) >= 0.01:
            texts = sorted({piece.text for piece in belief.pieces if piece.where == where}, key=len)
            about = next(piece for piece in belief.pieces if piece.where == where and piece.text == texts[0])
            found.append(Reason(where, f"{texts[0]} at {belief.plan.zone(about.zone).label}", zone, moved))
    return sorted(found, key=lambda reason: -abs(reason.moved))
