"""Amounts and shares as people write them."""

from __future__ import annotations

import pytest

from weldworth.ceiling.amounts import currency_signs, parse_amount, parse_money, parse_share


@pytest.mark.parametrize(
    ("text", "amount"),
    [("7500", 7_500), ("$7,500", 7_500), ("€ 1,234,567.89", 1_234_567.89), ("12.5k", 12_500), ("7,500 USD", 7_500), ("0", 0)],
)
def test_an_amount_is_read_with_signs_commas_and_thousands(text: str, amount: float) -> None:
    assert parse_amount(text) == amount


@pytest.mark.parametrize("text", ["", "about 500", "7,50", "75,00", "-500", "1.2.3", "$", "500-600", "nan", "7.500"])
def test_an_amount_that_can_be_misread_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="write"):
        parse_amount(text)


def test_the_currencies_written_in_a_price_are_told_apart() -> None:
    assert currency_signs("$ 500 USD") == {"$", "USD"} and currency_signs("500") == frozenset()


def test_twenty_of_a_hundred_is_not_twenty() -> None:
    assert parse_share("20 %") == parse_share(0.2) == parse_share("0.2") == 0.2
    for wrong in (20, "20", "100 %", -0.1, None, "much"):
        with pytest.raises(ValueError, match="20 %"):
            parse_share(wrong)


def test_money_from_a_file_may_be_a_number_or_text_but_not_below_nothing() -> None:
    assert parse_money(300) == parse_money("300") == parse_money("$300") == 300.0
    for wrong in (-1, float("inf"), True, None, "much"):
        with pytest.raises(ValueError, match="is "):
            parse_money(wrong)
