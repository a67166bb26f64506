"""The desk as people wait for it: the bench with a thousand candidates, its size on the wire, a finding on the largest plan."""

from __future__ import annotations

import gzip
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from measures.figure import Figure

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests" / "web")]

from visiting import DEMO, Visitor, make_desk  # noqa: E402

from weldworth.tables import load_tables  # noqa: E402
from weldworth.vehicle.plans import load_plan  # noqa: E402
from weldworth.web.app import create_app  # noqa: E402
from weldworth.web.settings import settings_for  # noqa: E402
from weldworth.workbench.desk import Desk  # noqa: E402
from weldworth.workbench.keeping import begin  # noqa: E402

MANY = 1000
TURNS = 7
SIGN = {"sign": "scale", "source": "own-ground"}
ON = "this machine, one core, processor time; other work on the machine stretches it less than the clock, through shared caches"


def opened(desk: Desk) -> Visitor:
    return Visitor(create_app(desk, settings_for("127.0.0.1")), base_url="http://127.0.0.1")


def milliseconds(work: Callable[[], object]) -> float:
    """Processor time of one turn."""
    begun = time.process_time()
    work()
    return (time.process_time() - begun) * 1e3


def bench() -> tuple[list[float], int]:
    """Turns of the bench with MANY candidates, weighed as the demo's are; bytes of the page packed for the wire."""
    with tempfile.TemporaryDirectory() as place:
        desk = make_desk(Path(place))
        owner = desk.people.owner("R. Quillan").id
        folder = sorted(DEMO.glob("*/candidate.toml"))[0].parent
        first = desk.import_dossier(folder, owner)
        desk.weighing(first)
        view = desk.candidate(first)
        items = [(entry.kind, dict(entry.body)) for entry in view.entries[1:]]
        with desk.store.reading() as unit:
            known = unit.summaries()[first]
        for number in range(1, MANY):
            body = {**view.entries[0].body, "name": f"Candidate {number}"}
            id = begin(desk.store, body, items, owner, desk.clock.now())
            basis = desk.basis(id)[0]
            with desk.store.writing() as writing:
                writing.put_summary(replace(known, candidate=id, key=basis.key))
        visitor = opened(desk)
        visitor.page("/")
        page = visitor.page("/").encode()
        return [milliseconds(lambda: visitor.page("/")) for _ in range(TURNS)], len(gzip.compress(page))


def finding() -> tuple[str, list[float], list[float]]:
    """On the largest plan with twenty findings: the weighing after one more, and the page from the tap to its answer."""
    tables = load_tables()
    body = max(tables.plan_names(), key=lambda name: len(load_plan(name, tables).zones))
    with tempfile.TemporaryDirectory() as place:
        desk = make_desk(Path(place))
        owner = desk.people.owner("R. Quillan").id
        told = [("resale", {"low": 14000, "likely": 17000, "high": 21000}), ("sale", {"kind": "asked", "price": 6900})]
        id = desk.take_in({"name": "Largest", "body": body, "model_year": 1968}, told, owner)
        zones = [zone.id for zone in desk.metal(id).plan.zones]
        for zone in zones[:20]:
            desk.record(id, "finding", {**SIGN, "zone": zone}, owner)
        desk.weighing(id)
        weighings: list[float] = []
        for zone in zones[20 : 20 + TURNS]:
            desk.record(id, "finding", {**SIGN, "zone": zone}, owner)
            weighings.append(milliseconds(lambda: desk.weighing(id)))
        visitor = opened(desk)
        token = visitor.token(f"/c/{id}/metal")

        def tap(zone: str) -> None:
            data = {**SIGN, "zone": zone, "form_token": token}
            answer = visitor.post(f"/c/{id}/metal", data=data, headers={"accept": "text/html"}, follow_redirects=False)
            visitor.page(answer.headers["location"])

        pages = [milliseconds(lambda zone=zone: tap(zone)) for zone in zones[40 : 40 + TURNS]]
    return f"{body}, {len(zones)} zones, 20 findings and more", weighings, pages


def least(turns: Sequence[float]) -> str:
    return f"median of {len(turns)}, least {min(turns):.0f} ms"


def measure() -> list[Figure]:
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {sorted(os.sched_getaffinity(0))[0]})
    rows, packed = bench()
    on, weighings, pages = finding()
    middle = statistics.median
    many = f"{MANY:,} candidates of 30 entries, all weighed; {ON}"
    return [
        Figure("bench with 1,000 candidates", round(middle(rows)), "ms", "under 500 ms", middle(rows) < 500, least(rows), many),
        Figure("its page, packed", round(packed / 1e3, 1), "kB", "under 200 kB", packed < 200_000, "gzip", many),
        Figure(
            "weighing after one more finding",
            round(middle(weighings)),
            "ms",
            "under 300 ms",
            middle(weighings) < 300,
            least(weighings),
            f"{on}; {ON}",
        ),
        Figure(
            "page after one more finding, from the tap to its answer",
            round(middle(pages)),
            "ms",
            "under 300 ms",
            middle(pages) < 300,
            least(pages),
            f"{on}; {ON}",
        ),
    ]
