"""Speed as ratios from one run: full belief and complete ask list against an independent engine and against reading memory."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from statistics import median

import numpy as np

from measures.figure import Figure
from weldworth.asks.rank import askable, rank
from weldworth.belief.believe import orders
from weldworth.belief.engine import infer
from weldworth.belief.sight import lexicon
from weldworth.bootstrap import looked_at
from weldworth.store.folder import read_dossier
from weldworth.tables import load_tables
from weldworth.workbench.weigh import weigh

ROOT = Path(__file__).resolve().parents[2]
TODAY = date(2026, 11, 25)
sys.path.insert(0, str(ROOT / "tests" / "belief"))


@dataclass(frozen=True)
class Speeds:
    """Seconds, medians of one run: belief and ask list here and by pyAgrum, and reading the model's arrays once."""

    zones: int
    findings: int
    asks: int
    outcomes: int
    belief: float
    asking: float
    other_belief: float
    other_asking: float
    reading: float
    weighing: float


def seconds(work: Callable[[], object], times: int = 7) -> float:
    """Median wall time of `work`, after one run that is not counted."""
    work()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return median(taken)


def speeds() -> Speeds:
    """Time everything in one run on one core where the system can pin it."""
    from agrum import Agrum
    from vehicles import network_of, random_evidence

    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {sorted(os.sched_getaffinity(0))[0]})
    tables = load_tables()
    network, size = network_of("pickup"), orders(tables)
    evidence = random_evidence(network, np.random.default_rng(1), findings=25)
    posterior = infer(network, evidence, size)
    other = Agrum(network, size)
    arrays = list({id(array): array for array in posterior.damage}.values())
    dossier = looked_at(read_dossier(ROOT / "src/weldworth/demo/ostrel-forager", tables, today=TODAY), tables)
    found = weigh(dossier, tables, today=TODAY)
    draws, decision, lex = found.asking.draws, found.asking.decision, lexicon(tables)

    def ask() -> object:
        missing = askable(found.belief, draws, tables, lex=lex, spread=found.exposure.spread)
        return rank(found.belief, draws, decision, tables, missing, lex=lex, most=0)

    asks = len(found.ranking.asks)
    other_belief = seconds(lambda: other.marginals(evidence), 5)
    outcomes = 8 * sum(ask.kind == "picture" for ask in found.ranking.asks) + 4 * sum(
        a.kind != "picture" for a in found.ranking.asks
    )
    start, few = time.perf_counter(), 12
    for z in range(few):
        other.marginals(
            type(evidence)({**evidence.zones, z: np.linspace(0.2, 1, 6)}, evidence.groups, evidence.families, evidence.repair)
        )
    each = (time.perf_counter() - start) / few
    return Speeds(
        zones=len(network.zones),
        findings=25,
        asks=asks,
        outcomes=outcomes,
        belief=seconds(lambda: infer(network, evidence, size)),
        asking=seconds(ask),
        other_belief=other_belief,
        other_asking=each * outcomes,
        reading=seconds(lambda: [array.sum() for array in arrays]),
        weighing=seconds(lambda: weigh(dossier, tables, today=TODAY).ranking, 3),
    )


def measure() -> list[Figure]:
    s = speeds()
    on = f"pickup, {s.zones} zones, {s.findings} findings, one core"
    asks_on = f"open tub of the demo, {s.asks} asks, one core"
    one = f"pyAgrum, identical network, each of {s.outcomes} outcomes inferred once; scaled from 12 that were run"
    return [
        Figure("full belief", round(s.belief * 1e3, 1), "ms", "under 50 ms", s.belief < 0.05, "median of 7", on),
        Figure(
            "pyAgrum's belief over ours",
            round(s.other_belief / s.belief, 2),
            "times",
            "at least 1",
            s.other_belief >= s.belief,
            "same run",
            on,
        ),
        Figure(
            "full belief over reading the model once",
            round(s.belief / s.reading, 1),
            "times",
            "said, no target",
            True,
            "same run",
            on,
        ),
        Figure("complete ask list", round(s.asking * 1e3, 1), "ms", "under 50 ms", s.asking < 0.05, "median of 7", asks_on),
        Figure(
            "pyAgrum's ask list over ours",
            round(s.other_asking / s.asking),
            "times",
            "at least 100",
            s.other_asking >= 100 * s.asking,
            one,
            asks_on,
        ),
        Figure(
            "one weighing, dossier to asks",
            round(s.weighing, 2),
            "s",
            "a few seconds",
            s.weighing < 3,
            "median of 3",
            "open tub of the demo, one core",
        ),
    ]
