"""Advertisements of invented vehicles, read by plain rules: each fact, claim and warning with the words it came from."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.evidence.records import Finding
from weldworth.tables import load_tables
from weldworth.vehicle.plans import load_plan
from weldworth.vehicle.vehicle import Vehicle
from weldworth.workbench.advert import AdvertReading, advert_rules, read_advert
from weldworth.workbench.advert_facts import Said
from weldworth.workbench.checks import check
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.fold import gather
from weldworth.workbench.weigh import belief_of, exposure_of

TABLES, TODAY = load_tables(), date(2026, 11, 25)
ADVERT = """1968 Tamarack Hauler pickup, 78,400 original miles
Rust-free truck from the dry side of the state! Solid frame, new floors in 2015, fresh paint.
Selling for a friend, ran when parked. Title in the mail.
Asking $8,500. Located in Detroit, MI. VIN: TK68-20417. Sold as-is, photos only.
Restored in 2003 by my uncle."""


def read(text: str, body: str | None = None) -> AdvertReading:
    return read_advert(text, TABLES, body=body, today=TODAY)


def test_the_facts_of_an_advertisement_are_found() -> None:
    found = read(ADVERT)
    assert found.vehicle == {
        "name": "1968 Tamarack Hauler pickup, 78,400 original miles",
        "model_year": 1968,
        "odometer": 78400,
        "odometer_unit": "mi",
        "number": "TK68-20417",
        "body": "pickup",
        "repairs": "restored",
    }
    assert found.sale == {"kind": "asked", "price": 8500, "seller_place": "Detroit, MI"}


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("62k miles, 1971 coupe", "odometer", 62000),
        ("118,000 km on the clock", "odometer", 118000),
        ("Restored in 1994. A 1966 van.", "model_year", 1966),
        ("Owned since 1983, built as a 1957", "model_year", 1957),
        ("price: 12,750 firm", "price", 12750),
        ("$7k or offer", "price", 7000),
        ("Auction ends Dec 5", "closes", "2026-12-05"),
        ("bidding closes on 2027-01-09", "closes", "2027-01-09"),
        ("auction ends January 3rd", "closes", "2027-01-03"),
        ("current bid $900, buyer's fee 5%", "buyer_fee", "5 %"),
        ("no reserve!", "kind", "auction"),
    ],
)
def test_facts_are_read_as_people_write_them(text: str, key: str, value: object) -> None:
    found = read(text)
    assert {**found.vehicle, **found.sale}[key] == value


@pytest.mark.parametrize("text", ["Lovely old truck", "call 555-1968", "asking $1,968", "parts worth 2020", "1,968 miles on it"])
def test_what_is_no_model_year_is_not_taken_for_one(text: str) -> None:
    assert "model_year" not in read(text).vehicle


def test_every_reading_carries_the_very_words_it_came_from() -> None:
    found = read(ADVERT)
    parts: list[Said] = [x.said for group in (found.facts, found.claims, found.warnings, found.answers) for x in group]
    assert len(parts) > 12
    assert all(ADVERT[said.start : said.end] == said.words for said in parts)


def test_claims_are_put_on_the_zones_they_speak_of_with_the_trust_of_a_sellers_word() -> None:
    claims = {claim.said.words: claim for claim in read(ADVERT).claims}
    assert set(claims) == {"Rust-free", "Solid frame", "new floors"}
    frame = claims["Solid frame"]
    assert frame.absent and frame.sign == "hole"
    plan = load_plan("pickup", TABLES)
    first = {sentinel.zone for sentinel in plan.sentinels}
    assert set(frame.zones) == {zone.id for zone in plan.zones if zone.id.startswith("pu.frame.") and zone.id in first}
    assert len(claims["new floors"].zones) == sum(zone.kind.startswith("pu.floor.") for zone in plan.zones)
    assert {item["source"] for claim in claims.values() for item in claim.items} == {"seller-word"}
    assert all("\u201cnew floors\u201d" in str(item["note"]) for item in claims["new floors"].items)


def test_praise_moves_belief_no_further_than_a_sellers_general_word_may() -> None:
    # Common practice, no source: a seller's praise is worth little, odds of bad metal times 0.75 at the most in its favour.
    plan = load_plan("pickup", TABLES)
    dossier = Dossier("t", Vehicle("T", "pickup", 1968))
    exposure = exposure_of(dossier, TABLES, TODAY)

    def odds(words: str) -> float:
        items = [item for claim in read(words, body="pickup").claims for item in claim.items]
        said = tuple(
            Finding(str(i["zone"]), str(i["sign"]), str(i["source"]), absent=bool(i.get("absent")), where=str(n))
            for n, i in enumerate(items)
        )
        zones = belief_of(replace(dossier, records=said), plan, exposure, TABLES, TODAY).zones
        bad = float(zones[:, [2, 3, 5]].sum(axis=1).mean())
        return bad / (1 - bad)

    assert 0.7 < odds("rust free") / odds("a truck") < 1
    assert odds("needs floors") > 1.5 * odds("a truck")


def test_a_claim_without_a_known_body_is_kept_and_put_nowhere() -> None:
    (claim,) = read("A solid frame under it").claims
    assert (claim.zones, claim.items) == ((), ())
    assert read("A solid frame under it", body="van").claims[0].zones


def test_phrases_that_call_for_care_are_noted_with_what_to_ask() -> None:
    found = [warning.said.words for warning in read(ADVERT).warnings]
    assert found == [
        "fresh paint",
        "Selling for a friend",
        "ran when parked",
        "Title in the mail",
        "as-is",
        "photos only",
        "Restored in 2003",
    ]
    assert all(warning.ask.endswith("?") or warning.ask.endswith(".") for warning in read(ADVERT).warnings)


@pytest.mark.parametrize("text", ["rustproof box of tools", "a parasol, as isolated", "the trunk needs a solid framework"])
def test_a_phrase_within_other_words_is_not_heard(text: str) -> None:
    found = read(text, body="pickup")
    assert (found.claims, found.warnings) == ((), ())


@pytest.mark.parametrize("body", TABLES.plan_names())
def test_all_that_an_advertisement_amounts_to_may_be_recorded_as_it_stands(body: str) -> None:
    words = " . ".join(
        phrase.replace("#", "3")
        for row in TABLES.rows("advert_words.csv", ("use", "words", "zones", "sign", "absent", "key", "value", "ask"))
        for phrase in row.text("words").split(" | ")
    )
    found = read(words, body=body)
    standing = gather([])
    standing.vehicle = {"name": "T", **found.vehicle, "body": body}
    check("opened", standing.vehicle, gather([]), TABLES, TODAY)
    for kind, item in found.items:
        check(kind, item, standing, TABLES, TODAY)
    assert len(advert_rules(TABLES)) > 40


def test_every_rule_for_metal_finds_a_zone_on_some_body_or_says_that_it_names_none() -> None:
    plans = [load_plan(body, TABLES) for body in TABLES.plan_names()]
    for rule in advert_rules(TABLES):
        if rule.use == "claim" and rule.zones != ("@none",):
            phrase = next(
                row.text("words").split(" | ")[0]
                for row in TABLES.rows("advert_words.csv", ("use", "words", "zones", "sign", "absent", "key", "value", "ask"))
                if rule.pattern.fullmatch(row.text("words").split(" | ")[0])
            )
            assert any(claim.zones for plan in plans for claim in read(phrase, body=plan.body).claims), phrase


def test_an_empty_advertisement_or_one_of_another_size_is_refused() -> None:
    for text in ("  \n", "x" * 200_001):
        with pytest.raises(BadInput):
            read(text)


@given(st.text(min_size=1, max_size=300))
def test_no_text_brings_the_reader_down(text: str) -> None:
    if text.strip():
        found = read(text, body="coupe")
        assert all(text[fact.said.start : fact.said.end] == fact.said.words for fact in found.facts)
