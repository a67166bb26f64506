"""A weighing and its asks as the JSON that other programs rely on; these names do not change."""

from __future__ import annotations

import json

from weldworth.asks.ask import Ask
from weldworth.belief.believe import Reason
from weldworth.report.metal import zone_row
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.workbench.coverage import seen_zones
from weldworth.workbench.message import message
from weldworth.workbench.weigh import Weighing

Json = dict[str, object]


def weighing_json(weighing: Weighing) -> Json:
    """The promised form. Money in `bill.currency` to the cent, chances 0..1 in full."""
    ceiling, bill, resale = weighing.ceiling, weighing.bill, weighing.resale
    return {
        "candidate": weighing.dossier.vehicle.name,
        "body": weighing.plan.body,
        "seed": weighing.seed,
        "tables": weighing.tables,
        "belief": {
            zone.id: dict(zip(CONDITIONS, chances, strict=True))
            for zone, chances in zip(weighing.plan.zones, weighing.belief.zones.tolist(), strict=True)
        },
        "bill": {
            "currency": bill.currency,
            **{name: _cents(getattr(bill, name)) for name in ("mean", "p10", "p50", "p80", "p90")},
            "drivers": [{"zone": driver.zone, "share": driver.share} for driver in bill.drivers],
        },
        "resale": {name: _cents(getattr(resale, name)) for name in ("p10", "p50", "p90")},
        "ceiling": {
            "amount": _cents(ceiling.amount),
            "expected_profit": _cents(ceiling.expected_profit),
            "p_loss": ceiling.p_loss,
            "because": ceiling.because,
        },
        "asks": [ask_json(ask) for ask in weighing.ranking.asks],
        "remarks": [{"code": r.code, "about": r.about, "text": r.text} for r in weighing.remarks],
    }


def asks_json(weighing: Weighing) -> Json:
    """All asks by worth after cost, the best few together with their joint worth as it grows, and the message to send."""
    best = weighing.ranking.best
    return {
        "candidate": weighing.dossier.vehicle.name,
        "body": weighing.plan.body,
        "seed": weighing.seed,
        "tables": weighing.tables,
        "currency": weighing.terms.deal.currency,
        "asks": [{**ask_json(ask), "decides": ask.changes, "caution": ask.caution} for ask in weighing.ranking.asks],
        "best": {
            "asks": [ask_json(ask) for ask in best.asks],
            "worth": [_cents(worth) for worth in best.worth],
            "cost": _cents(sum(ask.cost for ask in best.asks)),
        },
        "perfect": _cents(weighing.ranking.perfect),
        "message": message(best.asks),
    }


def ask_json(ask: Ask) -> Json:
    """One ask; worth before its cost."""
    return {"kind": ask.kind, "zone": ask.zone, "worth": _cents(ask.worth), "cost": _cents(ask.cost), "text": ask.text}


def zone_json(weighing: Weighing, zone: str, reasons: list[Reason]) -> Json:
    """One zone before and after the evidence, with the reasons in log-odds of bad metal, strongest first."""
    at, index = weighing.plan.zone(zone), weighing.plan.index[zone]
    seen = zone in seen_zones(weighing.belief)
    return {
        "candidate": weighing.dossier.vehicle.name,
        "tables": weighing.tables,
        "zone": zone,
        "label": at.label,
        "seen": seen,
        "before": dict(zip(CONDITIONS, weighing.belief.prior[index].tolist(), strict=True)),
        "after": dict(zip(CONDITIONS, weighing.belief.zones[index].tolist(), strict=True)),
        "bad": zone_row(at, weighing.belief.zones[index].tolist(), seen).bad,
        "reasons": [{"where": reason.where, "text": reason.text, "moved": reason.moved} for reason in reasons],
    }


def as_text(value: Json) -> str:
    """The value as JSON of plain characters, the same bytes every time; raises ValueError for what is not a finite number."""
    return json.dumps(value, indent=2, allow_nan=False)


def _cents(amount: float) -> float:
    return round(float(amount), 2)
