"""The main job against independent engines, published values and the worked vehicles of the trade."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
from scipy.stats import multivariate_normal, norm

from measures.figure import Figure
from weldworth.asks.worth import Decision, Observation, worth_of_each
from weldworth.belief.believe import orders
from weldworth.belief.engine import Evidence, Orders, infer
from weldworth.bootstrap import looked_at
from weldworth.ceiling.rivals import highest_of
from weldworth.exposure.corrosion import first_year_rate
from weldworth.store.folder import read_dossier
from weldworth.tables import load_tables
from weldworth.vehicle.number import check_number
from weldworth.workbench.weigh import Weighing, weigh

ROOT = Path(__file__).resolve().parents[2]
TODAY = date(2026, 11, 25)
DEMO = ("ostrel-forager", "harrow-150", "pelham-lisse")
sys.path.insert(0, str(ROOT / "tests" / "belief"))


def measure() -> list[Figure]:
    return [*_engines(), *_scenarios(), *_published(), *_demo()]


def _engines() -> list[Figure]:
    from agrum import Agrum
    from test_engine import one_factor, sampled
    from vehicles import BODIES, network_of, random_evidence

    tables = load_tables()
    usual, small = orders(tables), Orders(4, 3, 3)
    worst = doubled = 0.0
    for body in BODIES:
        network, rng = network_of(body), np.random.default_rng(20261101)
        other = Agrum(network, small)
        for _ in range(20):
            evidence = random_evidence(network, rng)
            worst = max(worst, float(np.abs(infer(network, evidence, small).zones - other.marginals(evidence)).max()))
            twice = Orders(2 * usual.vehicle, 2 * usual.group, 2 * usual.family)
            once = infer(network, evidence, usual).zones
            doubled = max(doubled, float(np.abs(once - infer(network, evidence, twice).zones).max()))
    network = one_factor(network_of("open-tub"))
    holed = np.array([0.0, 0.0, 0.0, 1.0, 0.0, 0.0])
    ours = infer(network, Evidence({3: holed}), Orders(60, 1, 1)).zones[20, 3]
    sd = [np.hypot(network.vehicle[z], network.own[z]) for z in (3, 20)]
    shared, limit = network.vehicle[3] * network.vehicle[20], -network.thresholds[2]
    both = multivariate_normal([-network.mean[3], -network.mean[20]], [[sd[0] ** 2, shared], [shared, sd[1] ** 2]])
    exact = both.cdf([limit, limit]) / norm.cdf(limit, -network.mean[3], sd[0])
    network = network_of("pickup")
    evidence = random_evidence(network, np.random.default_rng(5), findings=4)
    mean, error = sampled(network, evidence, draws=60_000, seed=11)
    apart = float((np.abs(infer(network, evidence, usual).zones - mean) / np.maximum(error, 1e-4)).max())
    sets = "five plans, 20 random evidence sets each, 25 findings"
    return [
        Figure(
            "marginals against pyAgrum", worst, "", "at most 1e-6", worst <= 1e-6, "largest difference, identical network", sets
        ),
        Figure(
            "marginals at twice the quadrature order", doubled, "", "at most 1e-3", doubled <= 1e-3, "largest difference", sets
        ),
        Figure(
            "one shared effect against the bivariate normal",
            abs(ours - exact),
            "",
            "at most 1e-5",
            abs(ours - exact) <= 1e-5,
            "closed form",
            "two zones",
        ),
        Figure(
            "sampling twin",
            round(apart, 2),
            "standard errors",
            "at most 4",
            apart <= 4,
            "60,000 whole vehicles, largest of all zones and conditions",
            "pickup",
        ),
    ]


def _scenarios() -> list[Figure]:
    from scenarios import MISSED, SCENARIOS

    figures = []
    inside = sum(not scenario.outside() for scenario in SCENARIOS)
    figures.append(
        Figure(
            "worked vehicles in their bands",
            inside,
            "of 12",
            "at least 10",
            inside >= 10,
            "bands: common practice, no source",
            "twelve worked vehicles",
        )
    )
    for scenario in SCENARIOS:
        for (zone, conditions, low, high), value in scenario.reached():
            met = low <= value <= high
            why = "" if met else "; " + MISSED.get(scenario.name, "")
            name = f"{scenario.name}: {zone} {'+'.join(conditions)}"
            figures.append(
                Figure(
                    name,
                    round(value, 3),
                    "",
                    f"{low} to {high}",
                    met,
                    f"belief, all evidence of the worked vehicle{why}",
                    "common practice, no source",
                )
            )
    return figures


def _published() -> list[Figure]:
    state = np.repeat([0, 1, 2], [500, 300, 200])
    table = np.array([[0.6, 0.3, 0.1], [0.3, 0.4, 0.4], [0.1, 0.3, 0.5]])
    decision = Decision(np.array([-70.0, 50.0, 200.0])[state][:, None], np.array([1.0]))
    evsi = worth_of_each(decision, [Observation(state, table)])[0].gain
    evpi = decision.perfect - decision.value
    rate = first_year_rate(24.7, 87, 6, 38.7)
    curse = highest_of(5)
    vins = {
        "1M8GDM9AXKP042788": True,
        "11111111111111111": True,
        "LJCPCBLCX11000237": True,
        "JHMCM56557C404453": True,
        "KNEJC524585810962": False,
    }
    right = sum(check_number(number).passes is valid for number, valid in vins.items())
    return [
        Figure(
            "oil wildcatter, value of the seismic test",
            round(evsi, 6),
            "thousand $",
            "12.5",
            abs(evsi - 12.5) < 1e-6,
            "Raiffa 1968, Shenoy 1992",
            "engine of the asks",
        ),
        Figure(
            "oil wildcatter, value of knowing",
            round(evpi, 6),
            "thousand $",
            "35",
            abs(evpi - 35) < 1e-6,
            "Raiffa 1968, Shenoy 1992",
            "engine of the asks",
        ),
        Figure(
            "first-year loss at Wanning",
            round(rate, 3),
            "µm",
            "58.233",
            abs(rate - 58.233) < 1e-3,
            "ISO 9223:2012 eq. 1; inputs Ma, Li and Wang 2010",
            "recomputed row",
        ),
        Figure(
            "highest of five estimates",
            round(curse, 4),
            "sigmas",
            "1.1630",
            abs(curse - 1.1630) < 5e-5,
            "McAfee 20.5, order statistic",
            "standard normal",
        ),
        Figure(
            "published vehicle numbers judged right",
            right,
            f"of {len(vins)}",
            "all",
            right == len(vins),
            "49 CFR 565 check digit",
            "published examples, valid and invalid",
        ),
    ]


def _demo() -> list[Figure]:
    tables = load_tables()
    read = {name: looked_at(read_dossier(ROOT / "src/weldworth/demo" / name, tables, today=TODAY), tables) for name in DEMO}
    found = {name: weigh(dossier, tables, today=TODAY) for name, dossier in read.items()}
    figures = [
        Figure(
            f"{name}: ceiling",
            round(w.ceiling.amount),
            w.bill.currency,
            _meant(name),
            _as_meant(name, w),
            f"because: {w.ceiling.because}",
            "demo dossier",
        )
        for name, w in found.items()
    ]
    dossier = read["ostrel-forager"]
    amounts = [weigh(dossier, tables, today=TODAY, seed=seed).ceiling.amount for seed in range(5)]
    spread = (max(amounts) - min(amounts)) / np.mean(amounts)
    figures.append(
        Figure(
            "ceiling from seed to seed",
            round(float(spread), 4),
            "of the ceiling",
            "at most 0.03",
            spread <= 0.03,
            "largest minus smallest of five seeds",
            "ostrel-forager",
        )
    )
    mild = replace(dossier, shop={**dossier.shop, "repair": "all"})
    share = weigh(mild, tables, today=TODAY).bill.overhead
    figures.append(
        Figure(
            "set-ups, strip and paint in the bill",
            round(share, 3),
            "of the estimate",
            "0.45 to 0.65",
            0.45 <= share <= 0.65,
            "common practice, no source",
            "ostrel-forager, everything mended",
        )
    )
    return figures


def _meant(name: str) -> str:
    return {
        "ostrel-forager": "below the price asked; one ask can turn it",
        "harrow-150": "0: walk away",
        "pelham-lisse": "above 0",
    }[name]


def _as_meant(name: str, w: Weighing) -> bool:
    if name == "harrow-150":
        return w.ceiling.amount == 0
    if name == "ostrel-forager":
        asked = w.dossier.sale.price_low if w.dossier.sale and w.dossier.sale.price_low else 0.0
        return 0 < w.ceiling.amount < asked and max(ask.changes for ask in w.ranking.asks if ask.kind == "picture") > 0.1
    return w.ceiling.amount > 0
