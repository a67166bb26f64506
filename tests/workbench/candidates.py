"""Candidates for the tests of the whole way: an invented vehicle that pays, with what a test wants to change."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from weldworth.evidence.records import Finding, Record
from weldworth.exposure.history import Residence
from weldworth.tables import load_tables
from weldworth.vehicle.plans import load_plan
from weldworth.vehicle.vehicle import Vehicle
from weldworth.workbench.dossier import Dossier, ResaleView, Sale
from weldworth.workbench.weigh import Weighing, weigh

TABLES = load_tables()
TODAY = date(2026, 11, 1)


def clean_everywhere(body: str, *but: str) -> tuple[Finding, ...]:
    """A good picture of original paint of every zone but those named."""
    zones = [zone.id for zone in load_plan(body, TABLES).zones if zone.id not in but and zone.kind not in but]
    return tuple(Finding(id, "original-paint", "asked-picture", quality=0.8, where=f"clean {id}") for id in zones)


def candidate(records: tuple[Record, ...] = (), **changes: object) -> Dossier:
    """A well kept coupe from a dry coast at an asked price, the shop working cheaply."""
    usual = Dossier(
        folder="tamarack",
        vehicle=Vehicle("Tamarack Six", "coupe", 1966),
        residences=(Residence("San Diego, CA", 1966, None, storage="garage", ground="concrete", salted_winters=0, papers=True),),
        records=records,
        sale=Sale("asked", 15_000, 18_000, seller_place="San Diego, CA"),
        resale=ResaleView(32_000, 38_000, 45_000),
        shop={"place": "Lawrence, KS", "labour_rate": (55, 70, 95), "repair": "needed"},
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


def weighed(records: tuple[Record, ...] = (), seed: int = 1, **changes: object) -> Weighing:
    return weigh(candidate(records, **changes), TABLES, today=TODAY, seed=seed, asks=2)
