"""Weigh a candidate: from its dossier to belief, bill, ceiling and asks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import cast

import numpy as np

from weldworth.asks.rank import Ranking
from weldworth.asks.worth import Decision
from weldworth.belief.answers import hear
from weldworth.belief.believe import Belief, believe
from weldworth.belief.draws import Draws, draw
from weldworth.belief.pieces import cause_signs
from weldworth.belief.sight import lexicon
from weldworth.bill.price import BillDraws, price
from weldworth.bill.summary import Bill, summary
from weldworth.ceiling.ceiling import Ceiling, Curve, Net, curve, find_ceiling, net_before_price
from weldworth.ceiling.fees import FeeSchedule
from weldworth.ceiling.resale import Resale
from weldworth.ceiling.rivals import chances_when_winning
from weldworth.ceiling.threepoint import ThreePoint
from weldworth.core.remark import Remark
from weldworth.evidence.records import Answer, Finding, Reading, standing
from weldworth.exposure.life import live
from weldworth.exposure.result import Exposure
from weldworth.tables import Tables
from weldworth.vehicle.number import NumberReport, check_number
from weldworth.vehicle.plan import Plan
from weldworth.vehicle.plans import load_plan
from weldworth.workbench.asking import Asking
from weldworth.workbench.coverage import coverage
from weldworth.workbench.deal import ShopTerms, fee_of, fetching, kind_of, prices_to_beat, resale_of, shop_terms
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.doubts import picture_remarks
from weldworth.workbench.sights import looks_of, measured

HANDS = ("inspector-lift", "own-ground", "own-lift", "club-member")


@dataclass(frozen=True)
class Weighing:
    """Everything that was worked out about one candidate, with what it rests on.

    Recomputable from the dossier, the table version and the seed. Money is in `terms.deal.currency`. asking : what may still be
    asked, judged when it is first wanted.
    """

    dossier: Dossier
    plan: Plan
    number: NumberReport | None
    exposure: Exposure
    belief: Belief
    terms: ShopTerms
    bill: Bill
    resale: Resale
    fee: FeeSchedule
    transport: ThreePoint
    distance_km: float | None
    net: Net
    ceiling: Ceiling
    curve: Curve
    asking: Asking
    remarks: tuple[Remark, ...]
    seed: int
    tables: str
    weighed_on: date

    @property
    def ranking(self) -> Ranking:
        """Every ask by what it is worth. Raises BadInput where a table of asks cannot be used."""
        return self.asking.ranking


@dataclass(frozen=True)
class Repair:
    """The metal of one candidate and what mending it costs in every draw."""

    plan: Plan
    exposure: Exposure
    belief: Belief
    terms: ShopTerms
    draws: Draws
    priced: BillDraws


def weigh(
    dossier: Dossier,
    tables: Tables,
    *,
    today: date,
    seed: int = 0,
    asks: int = 5,
    exposure: Exposure | None = None,
    belief: Belief | None = None,
) -> Weighing:
    """Belief, bill, ceiling and asks of one candidate.

    today : the day on which it is weighed; the life of the vehicle runs to it. seed : of the joint draws; same dossier, tables,
    day and seed give the same numbers. asks : at most so many are chosen together. exposure, belief : of this vehicle on this
    day, where known already.

    Raises BadInput with every problem found in the step that cannot go on.
    """
    resale, fee = resale_of(dossier, tables, today), fee_of(dossier.sale)
    made = repair_of(dossier, tables, today=today, seed=seed, exposure=exposure, belief=belief)
    plan, exposure, belief, terms, draws = made.plan, made.exposure, made.belief, made.terms, made.draws
    size = cast(dict[str, int], tables.toml("decision.toml")["draws"])
    transport, km, doubts = fetching(dossier, terms, tables)
    deal = replace(terms.deal, bidders=dossier.sale.bidders) if dossier.sale and dossier.sale.bidders is not None else terms.deal
    deal = replace(deal, mechanical_reserve=deal.mechanical_reserve + belief.heard.reserve)
    terms = replace(terms, deal=deal)
    net = net_before_price(resale.draws(size["bill"], seed + 1), made.priced.total, transport.draws(size["bill"], seed + 2), deal)
    kind = kind_of(dossier.sale)
    ceiling = find_ceiling(net.draws, fee, deal, sale_kind=kind, spent=net.spent)
    decision = decision_of(dossier, net, ceiling, fee, terms, tables)
    top = max(ceiling.amount * 2, float(resale.p50))
    remarks = (
        *dossier.remarks,
        *exposure.remarks,
        *resale.remarks,
        *belief.heard.remarks,
        *doubts,
        *picture_remarks(dossier, today, {zone.id: zone.label for zone in plan.zones}),
        *coverage(plan, belief),
    )
    return Weighing(
        dossier=dossier,
        plan=plan,
        number=check_number(dossier.vehicle.number, model_year=dossier.vehicle.model_year) if dossier.vehicle.number else None,
        exposure=exposure,
        belief=belief,
        terms=terms,
        bill=summary(made.priced),
        resale=resale,
        fee=fee,
        transport=transport,
        distance_km=km,
        net=net,
        ceiling=ceiling,
        curve=curve(net.draws, fee, deal, np.linspace(0, top, 81), sale_kind=kind),
        asking=_asking(dossier, belief, draws.first(size["asks"]), decision, exposure, tables, asks, seed),
        remarks=remarks,
        seed=seed,
        tables=tables.version,
        weighed_on=today,
    )


def repair_of(
    dossier: Dossier,
    tables: Tables,
    *,
    today: date,
    seed: int = 0,
    exposure: Exposure | None = None,
    belief: Belief | None = None,
) -> Repair:
    """The metal and what mending it costs, which needs no resale. Arguments and errors as of `weigh`."""
    terms = shop_terms(dossier.shop, tables)
    plan = load_plan(dossier.vehicle.body, tables, battery_side=dossier.vehicle.battery_side, options=dossier.vehicle.options)
    exposure = exposure or exposure_of(dossier, tables, today)
    belief = belief or belief_of(dossier, plan, exposure, tables, today)
    size = cast(dict[str, int], tables.toml("decision.toml")["draws"])
    draws = draw(belief.posterior, size["bill"], seed)
    seen = "probe" if any(isinstance(r, Finding) and r.source in HANDS for r in standing(dossier.records)) else "pictures"
    return Repair(plan, exposure, belief, terms, draws, price(plan, draws.conditions, terms.repair, tables, seed=seed, seen=seen))


def exposure_of(dossier: Dossier, tables: Tables, today: date) -> Exposure:
    """What the vehicle's life did to its metal up to `today`."""
    until = today.year + (today.timetuple().tm_yday - 1) / 365.25
    year = dossier.vehicle.model_year
    first = min((residence.start for residence in dossier.residences), default=until - 50)
    built = dossier.built if dossier.built is not None else float(year) if year is not None else min(first, until - 50)
    return live(dossier.residences, built=min(built, until), until=until, tables=tables)


def belief_of(dossier: Dossier, plan: Plan, exposure: Exposure, tables: Tables, today: date) -> Belief:
    """Belief about every zone from all records of the dossier that stand, and from what the machine sees on its pictures."""
    records = standing(dossier.records)
    heard = hear(
        [record for record in records if isinstance(record, Answer)],
        tables,
        history=dossier.repairs,
        lived=bool(dossier.residences),
        ramps=cause_signs(tables),
    )
    lex = lexicon(tables)
    findings = measured(dossier, [record for record in records if isinstance(record, Finding)], lex)
    readings = [record for record in records if isinstance(record, Reading)]
    looks = looks_of(dossier, findings, lex, today)
    return believe(plan, exposure, [*findings, *readings, *looks], tables, today=today, heard=heard)


def decision_of(dossier: Dossier, net: Net, ceiling: Ceiling, fee: FeeSchedule, terms: ShopTerms, tables: Tables) -> Decision:
    """The decision that an ask may change, on the draws of `net`.

    Buying in a draw gains its net less all that the price takes, less the margin wanted, less a charge where it loses money.
    The charge is what makes today's ceiling the price at which the shop does not care, so that a limit on the chance of loss
    has its price; it is 0 where the margin binds. Having won against others weighs every draw.
    """
    deal, kind = terms.deal, kind_of(dossier.sale)
    prices, chance = prices_to_beat(dossier.sale, ceiling.amount, tables)
    paid = (prices + fee.fee(prices)) * (1 + deal.tax)
    margin = np.maximum(deal.margin * (net.spent + paid), deal.margin_least)
    weight = np.empty_like(net.draws)
    weight[np.argsort(net.draws, kind="stable")] = chances_when_winning(net.draws.size, deal.rivals(kind), deal.resolved_share)
    charge = 0.0
    if ceiling.because == "chance of loss" and ceiling.p_loss > 0:
        at = ceiling.amount + float(fee.fee(np.array(ceiling.amount)))
        wanted = max(deal.margin * (net.spent + at * (1 + deal.tax)), deal.margin_least)
        charge = max(0.0, (ceiling.expected_profit - wanted) / ceiling.p_loss)
    profit = net.draws[:, None] - paid
    payoff = profit - margin - charge * (profit < 0)
    return Decision(payoff * (weight * net.draws.size)[:, None], chance)


def _asking(
    dossier: Dossier,
    belief: Belief,
    draws: Draws,
    decision: Decision,
    exposure: Exposure,
    tables: Tables,
    most: int,
    seed: int,
) -> Asking:
    return Asking(
        belief=belief,
        draws=draws,
        decision=Decision(decision.payoff[: len(draws.repair)], decision.chance),
        tables=tables,
        spread=exposure.spread,
        answered=tuple({record.question for record in standing(dossier.records) if isinstance(record, Answer)}),
        refused=tuple(dossier.asked_for),
        most=most,
        seed=seed,
    )
