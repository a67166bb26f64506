"""The shop's terms of repair: what is taken, and what is refused with which words."""

from __future__ import annotations

import pytest

from weldworth.bill import default_terms, terms_from
from weldworth.bill.spread import Triple
from weldworth.core.errors import BadInput
from weldworth.tables.load import load_tables

TABLES = load_tables()


def test_without_settings_a_body_shop_mends_and_paints_everything() -> None:
    # Consumer price pages 2012-2024 quote shop rates of 60 to 175 USD an hour, three of them 80 to 120.
    terms = terms_from({}, TABLES)
    assert terms == default_terms(TABLES)
    assert 60 <= terms.labour_rate.low < 80 <= terms.labour_rate.likely <= 120 < terms.labour_rate.high <= 175
    assert (terms.paint, terms.repair, terms.currency, terms.own_hours) == ("full", "all", "USD", 0)


def test_a_single_labour_rate_is_a_firm_one() -> None:
    assert terms_from({"labour_rate": 90}, TABLES).labour_rate == Triple(90, 90, 90)
    assert terms_from({"labour_rate": [70, 90, 120]}, TABLES).labour_rate == Triple(70, 90, 120)


def test_every_mistake_is_named_in_one_go() -> None:
    with pytest.raises(BadInput) as caught:
        terms_from(
            {"labor_rate": 90, "own_hours": -5, "paint": "ful", "repair": 3, "own_rate": "cheap", "currency": "usd"}, TABLES
        )
    text = str(caught.value)
    assert len(caught.value.problems) == 6
    for piece in (
        "'labor_rate'",
        "nearest: 'labour_rate'",
        "own_hours is -5",
        "nearest: 'full'",
        "'3'",
        "own_rate is 'cheap'",
        "'usd'",
    ):
        assert piece in text


@pytest.mark.parametrize("rate", [[140, 100, 75], [90, 100], 0, -1, "100", [0, 50, 90], float("nan"), True, [None, 1, 2]])
def test_a_labour_rate_that_cannot_be_is_refused(rate: object) -> None:
    with pytest.raises(BadInput, match="labour_rate is"):
        terms_from({"labour_rate": rate}, TABLES)


def test_another_currency_needs_its_rate_and_its_price_of_a_dollar() -> None:
    with pytest.raises(BadInput) as caught:
        terms_from({"currency": "EUR"}, TABLES)
    assert "labour_rate is missing" in str(caught.value)
    assert "per_usd is missing" in str(caught.value)
    terms = terms_from({"currency": "EUR", "labour_rate": 80, "per_usd": 0.9}, TABLES)
    assert (terms.currency, terms.per_usd) == ("EUR", 0.9)


def test_a_dollar_that_buys_nothing_is_refused() -> None:
    with pytest.raises(BadInput, match="per_usd is 0"):
        terms_from({"per_usd": 0}, TABLES)
