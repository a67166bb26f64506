"""Vehicles and evidence for the tests of the belief: the shipped plans, with what a test wants to say of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from weldworth.belief.answers import hear
from weldworth.belief.believe import Belief, believe
from weldworth.belief.engine import Evidence, Ramp
from weldworth.belief.network import Network, build
from weldworth.evidence.pictures import Look
from weldworth.evidence.records import Finding, Reading
from weldworth.exposure.result import flat
from weldworth.tables import load_tables
from weldworth.vehicle.plans import load_plan

TABLES = load_tables()
TODAY = date(2026, 11, 1)
BODIES = ("open-tub", "pickup", "coupe", "van", "roadster")


def seen(zone: str, sign: str, source: str = "asked-picture", quality: float | None = 0.9, **more: object) -> Finding:
    """A finding; by default in a good picture taken to instructions."""
    return Finding(zone, sign, source, quality=quality, **more)  # type: ignore[arg-type]


def probed(zone: str, result: str = "rings") -> Finding:
    """The result of one's own probe, on a lift."""
    return Finding(zone, result, "own-lift")


def belief_about(
    body: str,
    records: Sequence[Finding | Reading | Look],
    *,
    exposure: float = 1.0,
    repaired: float = 0.25,
    well: float = 0.4,
    spread: float = 0.15,
    options: tuple[str, ...] = (),
    grown: float = 0.0,
) -> Belief:
    """Belief about a vehicle of known exposure E and repair history r, w. grown : ln(E now / E then) over the last 20 years."""
    named = [replace(record, where=f"record {i}") for i, record in enumerate(records)]
    heard = replace(hear((), TABLES), repaired=repaired, well=well)
    plan = load_plan(body, TABLES, options=options)
    lived = replace(flat(exposure, spread), backward=((0.0, 0.0), (20.0, grown)))
    return believe(plan, lived, named, TABLES, today=TODAY, heard=heard)


def network_of(body: str) -> Network:
    """The network of a temperate vehicle of unknown history."""
    return build(load_plan(body, TABLES), flat(1.2, 0.3), TABLES, repaired=0.25, well=0.4)


def random_evidence(network: Network, rng: np.random.Generator, findings: int = 25) -> Evidence:
    """Likelihoods at random zones, strong and weak, and signs of two causes."""
    zones = rng.choice(len(network.zones), size=min(findings, len(network.zones)), replace=False)
    groups = rng.choice(len(network.groups), size=2, replace=False)
    return Evidence(
        {int(z): rng.uniform(0.02, 1.0, 6) ** 2 for z in zones},
        {int(g): [Ramp(0.06, 0.45, 0.7, 0.7, absent=bool(rng.random() < 0.5))] for g in groups},
        {int(rng.integers(len(network.group_of_family))): [Ramp(0.06, 0.45, 0.7, 0.7)]},
        rng.uniform(0.2, 1.0, len(network.repair)),
    )
