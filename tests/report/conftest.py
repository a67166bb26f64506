"""One invented vehicle, weighed once for all tests of the reports."""

from __future__ import annotations

from datetime import date

import pytest

from weldworth.evidence.records import Answer, Finding, Reading
from weldworth.exposure.history import Residence
from weldworth.report.compose import sheet as composed
from weldworth.report.sheet import Sheet
from weldworth.tables import Tables, load_tables
from weldworth.vehicle.plan import Zone
from weldworth.vehicle.plans import load_plan
from weldworth.vehicle.vehicle import Vehicle
from weldworth.workbench.dossier import Dossier, ResaleView, Sale
from weldworth.workbench.weigh import Weighing, weigh

DAY = date(2026, 11, 25)
NAME = 'Tamarack *bold* #panic("x") <b>'


@pytest.fixture(scope="session")
def tables() -> Tables:
    return load_tables()


@pytest.fixture(scope="session")
def zones(tables: Tables) -> tuple[Zone, ...]:
    return load_plan("pickup", tables).zones


@pytest.fixture(scope="session")
def weighing(tables: Tables, zones: tuple[Zone, ...]) -> Weighing:
    """A pickup from a dry country with clean pictures of half of it, one bad zone, a reading and answers."""
    clean = [
        Finding(zone.id, "original-paint", "asked-picture", picture="a.jpg", where=f"finding {n}")
        for n, zone in enumerate(zones)
        if n % 2
    ]
    records = (
        *clean,
        Finding(zones[0].id, "hole", "asked-picture", note="two fingers wide", where="finding bad"),
        Finding(zones[2].id, "scale", "asked-picture", absent=True, where="finding absent"),
        Reading(zones[1].id, "wall", 3.1, "club-member", 3.1, "mm", where="reading 1"),
        Answer("owned", "refused", where="answer 1"),
        Answer("places", "somewhere warm", where="answer 2"),
    )
    dossier = Dossier(
        folder="tamarack",
        vehicle=Vehicle(NAME, "pickup", 1968, "TC8-115702", 58210),
        residences=(Residence("Phoenix, AZ", 1968.0, None, storage="garage"),),
        records=records,
        sale=Sale("auction", 21000.0, 24000.0, buyer_fee="5 % min 250", seller_place="Phoenix, AZ", bidders=2),
        resale=ResaleView(50000.0, 60000.0, 70000.0),
        shop={"place": "Denver, CO"},
        pictures=("a.jpg",),
    )
    return weigh(dossier, tables, today=DAY, seed=5)


@pytest.fixture(scope="session")
def sheet(weighing: Weighing, tables: Tables) -> Sheet:
    return composed(weighing, tables)
