"""What a report says of a weighing: every figure comes from it, what was not seen is named, and the sums are sums."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from weldworth.asks.ask import Ask, AskSet
from weldworth.asks.rank import Ranking
from weldworth.evidence.pictures import Shown
from weldworth.report.asking import NOTHING, ask_sheet
from weldworth.report.cautions import HOT_WORK, NOT_AN_APPRAISAL, STRUCTURE, UNDERNEATH, cautions
from weldworth.report.compose import sheet as composed
from weldworth.report.deal import decision
from weldworth.report.metal import zone_row
from weldworth.report.sheet import Sheet
from weldworth.tables import Tables
from weldworth.vehicle.plan import Zone
from weldworth.workbench.coverage import seen_zones
from weldworth.workbench.message import message
from weldworth.workbench.ports import Seen, Sight
from weldworth.workbench.weigh import Weighing


def figure(text: str) -> float:
    """The number in a shown figure."""
    return float(re.sub(r"[^0-9.\u2212-]", "", text).replace("\u2212", "-"))


def test_every_zone_of_the_plan_stands_in_the_report_once_worst_first(sheet: Sheet, weighing: Weighing) -> None:
    shown = [row for station in sheet.stations for row in station.zones]
    assert sorted(row.id for row in shown) == sorted(zone.id for zone in weighing.plan.zones)
    for station in sheet.stations:
        assert [row.bad for row in station.zones] == sorted((row.bad for row in station.zones), reverse=True)
    assert sheet.worst[0].bad == max(row.bad for row in shown)


def test_what_nobody_has_seen_is_named_and_what_was_seen_is_not(sheet: Sheet, weighing: Weighing) -> None:
    seen = seen_zones(weighing.belief)
    unseen = {item.label for item in sheet.evidence.unseen}
    for zone in weighing.plan.zones:
        if zone.id in seen:
            assert zone.label not in unseen
        elif zone.structural == "yes":
            assert zone.label in unseen
    assert all(not row.seen for row in sheet.unknown)


def test_a_zone_about_which_nothing_is_sure_is_hatched_and_a_sure_one_is_not(zones: tuple[Zone, ...]) -> None:
    unsure = zone_row(zones[0], [1 / 6] * 6, seen=False)
    sure = zone_row(zones[0], [0.98, 0.01, 0.005, 0.003, 0.001, 0.001], seen=True)
    assert (unsure.hatch, sure.hatch) == (3, 0) and sure.tint == 0 < unsure.tint
    assert zone_row(zones[0], [0, 0, 0, 1, 0, 0], seen=True).tint == 8


def test_how_it_adds_up_adds_up(sheet: Sheet, weighing: Weighing) -> None:
    *rows, total = sheet.decision.adds_up
    assert sum(figure(row.value) for row in rows) == pytest.approx(figure(total.value), abs=5 * len(rows))
    left = float(np.mean(weighing.net.draws)) - weighing.ceiling.curse_correction
    assert figure(total.value) == pytest.approx(left, abs=5)


def test_the_lines_of_the_bill_add_up_to_its_average(sheet: Sheet, weighing: Weighing) -> None:
    rows = [*sheet.bill.work, *sheet.bill.once]
    assert sum(figure(row.counts) for row in rows) == pytest.approx(weighing.bill.mean, abs=5 * len(rows) + 5)


def test_the_named_ceiling_is_rounded_down_and_what_binds_is_said_once(sheet: Sheet, weighing: Weighing) -> None:
    assert 0 <= weighing.ceiling.amount - figure(sheet.decision.ceiling) < 50
    assert [row.note for row in sheet.decision.binds].count("this sets the ceiling") == 1


@pytest.mark.parametrize(
    ("because", "amount", "low", "high", "told"),
    [
        ("margin", 25000.0, 21000.0, 24000.0, "Bid no more than 25,000"),
        ("chance of loss", 19990.0, 21000.0, 24000.0, "1,050 past the ceiling"),
        ("nothing pays", 0.0, 21000.0, 24000.0, "Walk away"),
    ],
)
def test_the_advice_follows_from_ceiling_and_price(
    weighing: Weighing, because: str, amount: float, low: float, high: float, told: str
) -> None:
    ceiling = replace(weighing.ceiling, amount=amount, because=because)  # type: ignore[arg-type]
    sale = replace(weighing.dossier.sale, price_low=low, price_high=high)  # type: ignore[type-var]
    changed = replace(weighing, ceiling=ceiling, dossier=replace(weighing.dossier, sale=sale))
    assert told in decision(changed).advice


def test_an_asked_price_under_above_and_across_the_ceiling_is_told_apart(weighing: Weighing) -> None:
    ceiling = replace(weighing.ceiling, amount=25000.0, because="margin")
    told = []
    for low, high in ((20000.0, 20000.0), (24000.0, 26000.0), (30000.0, 30000.0)):
        sale = replace(weighing.dossier.sale, kind="asked", price_low=low, price_high=high)  # type: ignore[type-var]
        told.append(decision(replace(weighing, ceiling=ceiling, dossier=replace(weighing.dossier, sale=sale))).advice)
    assert told[0].startswith("Worth buying at") and told[1].startswith("Worth buying up to") and "walk away or offer" in told[2]


def test_records_are_told_in_words_with_their_source_and_answers_with_their_question(sheet: Sheet) -> None:
    looks = [item for _, items in sheet.evidence.stations for item in items]
    assert any(item.value == "looked for, no scale" for item in looks)
    assert any(item.value == "hole" and "two fingers wide" in item.note for item in looks)
    assert any(item.value == "wall 3.1 mm" for item in looks)
    assert {item.value: item.note for item in sheet.evidence.answers} == {"refused": "", "somewhere warm": "kept, not weighed"}


def test_what_the_machine_sees_is_told_apart_from_what_people_saw_with_what_it_was_tried_on(
    weighing: Weighing, tables: Tables, zones: tuple[Zone, ...]
) -> None:
    sight = Sight(None, 0.8, True, (), "", 12.0, 4.0, 3, 0.9, (("surface-rust", 0.9), ("bubbling", 0.6)))
    clean = replace(sight, signs=())
    shown = (
        Shown("a.jpg", (zones[4].id,), source="video", where="picture 1"),
        Shown("b.jpg", (zones[6].id,), source="video", where="picture 2"),
        Shown("c.jpg", (zones[8].id,), dismissed=frozenset({("surface-rust", ""), ("bubbling", "")}), where="picture 3"),
    )
    seen = {"a.jpg": Seen("1", whole=sight), "b.jpg": Seen("2", whole=clean), "c.jpg": Seen("3", whole=sight)}
    dossier = replace(weighing.dossier, pictures=tuple(seen), shown=shown, seen=seen)
    told = composed(replace(weighing, dossier=dossier), tables).evidence
    machine = {item.value: item for _, items in told.stations for item in items if "by the machine" in item.note}
    assert set(machine) == {"perhaps surface rust, bubbling", "no surface rust found"}
    note = machine["perhaps surface rust, bubbling"].note
    assert "picture a.jpg" in note and "bubbling tried on synthetic pictures alone, weighed lightly" in note
    assert "3 pictures (the machine is heard on 2)" in told.counts


def test_remarks_cautions_seed_and_table_version_are_in_every_report(sheet: Sheet, weighing: Weighing) -> None:
    assert {NOT_AN_APPRAISAL, STRUCTURE, UNDERNEATH} <= set(sheet.cautions)
    block = " ".join(item.value for item in sheet.block)
    assert f"seed {weighing.seed}" in block and weighing.tables in block and "2026-11-25" in block
    told = {item.note for item in sheet.remarks}
    assert all(remark.text in told for remark in weighing.remarks if remark.code != "unseen-sentinel")


def test_hot_work_is_warned_of_only_where_there_is_work() -> None:
    assert HOT_WORK in cautions(["pu.floor"], ["frame.patch"]) and HOT_WORK not in cautions(["pu.floor"], [])


def an_ask(**changes: object) -> Ask:
    usual = dict(kind="picture", zone="z", label="Rail", worth=100.0, cost=5.0, changes=0.2, text="Please photograph the rail.")
    return Ask(**{**usual, "caution": "", **changes})  # type: ignore[arg-type]


def test_the_message_holds_every_text_and_caution_in_order_and_none_is_sent_for_no_ask() -> None:
    asks = (an_ask(), an_ask(text="Lift the mats.", caution="Never under a vehicle on a jack."))
    sent = message(asks)
    assert sent.index("1. Please photograph the rail.") < sent.index("2. Lift the mats. Never under a vehicle on a jack.")
    assert message(()) == ""


def test_asks_that_do_not_pay_are_counted_and_not_listed() -> None:
    ranked = ask_sheet(Ranking((an_ask(), an_ask(worth=2.0)), AskSet((an_ask(),), (100.0,)), 900.0))
    assert [row.worth_text for row in ranked.ranked] == ["100"] and ranked.left_out.startswith("1 more")
    assert ask_sheet(Ranking((an_ask(worth=0.0),), AskSet((), ()), 0.0)).summary == NOTHING


def test_the_same_weighing_gives_the_same_sheet(weighing: Weighing, tables: Tables, sheet: Sheet) -> None:
    assert composed(weighing, tables) == sheet
