"""Buyers' fees as written, against hand-worked amounts (common practice, no source)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldworth.ceiling.fees import FORMS, NO_FEE, parse_fee
from weldworth.core.errors import BadInput


@pytest.mark.parametrize(
    ("text", "price", "fee"),
    [
        ("none", 12_000, 0),
        ("250", 12_000, 250),
        ("5 %", 12_000, 600),
        ("5%", 12_000, 600),
        ("2.5 percent", 12_000, 300),
        ("5 % + 300", 12_000, 900),
        ("$300 plus 5 %", 12_000, 900),
        ("5 % min 250 max 7,500", 4_000, 250),
        ("5 % min 250 max 7,500", 5_000, 250),
        ("5 % min 250 max 7,500", 20_000, 1_000),
        ("5 % min 250 max 7,500", 150_000, 7_500),
        ("5 % min 250 max 7,500", 900_000, 7_500),
        ("5 %, at least $250, capped at 7.5k", 900_000, 7_500),
        ("10 % to 10,000 then 5 %", 10_000, 1_000),
        ("10 % to 10,000 then 5 %", 30_000, 2_000),
        ("10 % to 10,000, then 5 % to 50,000, then 2 % above 50,000", 60_000, 3_200),
        ("10 % to 10,000 then 5 % min 400 max 1,500", 1_000, 400),
        ("10 % to 10,000 then 5 % min 400 max 1,500", 30_000, 1_500),
        ("250 to 5,000; 500 to 10,000; 5 % above", 5_000, 250),
        ("250 to 5,000; 500 to 10,000; 5 % above", 5_000.01, 500),
        ("250 to 5,000; 500 to 10,000; 5 % above", 10_000, 500),
        ("250 to 5,000; 500 to 10,000; 5 % above", 30_000, 1_500),
        ("10 % to 10,000; 5 % above max 1,200", 10_000, 1_000),
        ("10 % to 10,000; 5 % above max 1,200", 15_000, 1_000),  # would fall to 750: the fee before is kept
        ("10 % to 10,000; 5 % above max 1,200", 90_000, 1_200),
        ("€ 250", 12_000, 250),
        ("250 USD", 12_000, 250),
    ],
)
def test_a_written_fee_comes_to_the_hand_worked_amount(text: str, price: float, fee: float) -> None:
    assert float(parse_fee(text).fee(price)) == pytest.approx(fee, abs=1e-9)


def test_many_prices_at_once_keep_their_shape() -> None:
    fees = parse_fee("5 % min 250").fee([[1_000, 5_000], [6_000, 10_000]])
    assert fees.tolist() == [[250.0, 250.0], [300.0, 500.0]]


def test_the_price_that_a_purse_allows_is_purse_over_one_plus_fee() -> None:
    # (value - cost) / (1 + buyer fee): common practice, no source.
    assert float(parse_fee("8 %").price_from_total(21_600)) == pytest.approx(20_000)
    assert float(NO_FEE.price_from_total(21_600)) == 21_600


def test_a_purse_that_cannot_pay_the_least_fee_buys_nothing() -> None:
    assert parse_fee("5 % min 250").price_from_total([100.0, 250.0, -3_000.0]).tolist() == [0.0, 0.0, 0.0]


def test_a_purse_that_falls_into_the_gap_of_a_step_stays_below_the_step() -> None:
    fee = parse_fee("250 to 5,000; 500 to 10,000; 5 % above")
    assert fee.price_from_total([5_249.0, 5_250.0, 5_400.0, 5_600.0]).tolist() == [4_999.0, 5_000.0, 5_000.0, 5_100.0]


amounts = st.integers(0, 5_000)
rates = st.floats(0.1, 30).map(lambda rate: f"{rate:.2f} %")
bounds = st.tuples(amounts, amounts).map(lambda pair: f" min {min(pair)} max {max(pair)}")
singles = st.tuples(st.one_of(rates, amounts.map(str)), st.one_of(st.just(""), bounds)).map("".join)


@st.composite
def schedules(draw: st.DrawFn) -> str:
    ends = draw(st.lists(st.integers(1, 80_000), max_size=3, unique=True).map(sorted))
    parts = [f"{draw(singles)} to {end:,}" for end in ends] + [draw(singles)]
    return draw(st.sampled_from([" then ", "; "])).join(parts)


prices = st.lists(st.floats(0, 200_000), min_size=2, max_size=20)


@given(schedules(), prices)
def test_a_fee_never_falls_as_the_price_rises(text: str, at: list[float]) -> None:
    fees = parse_fee(text).fee(sorted(at))
    assert np.all(np.diff(fees) >= -1e-6) and np.all(fees >= 0)


@given(schedules(), st.floats(0, 200_000))
def test_what_a_purse_allows_fits_it_and_a_cent_more_does_not(text: str, total: float) -> None:
    fee = parse_fee(text)
    price = float(fee.price_from_total(total))
    if price > 0:
        assert price + float(fee.fee(price)) <= total + 1e-3
    assert price + 0.01 + float(fee.fee(price + 0.01)) > total - 1e-3


@given(schedules(), st.floats(0, 200_000))
def test_the_purse_that_a_price_needs_allows_that_price(text: str, price: float) -> None:
    fee = parse_fee(text)
    assert float(fee.price_from_total(price + float(fee.fee(price)))) == pytest.approx(price, abs=1e-3)


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("", "empty"),
        ("five percent", "five"),
        ("5,5 %", "5,5 %"),
        ("7.500", "7,500 or 7.50"),
        ("5 % min", "'min'"),
        ("5 % min 250 min 300", "twice"),
        ("5 % min 500 max 100", "minimum of 500 above its maximum of 100"),
        ("5 % about 300", "about 300"),
        ("150 %", "100 %"),
        ("5 % to 10,000", "nothing about prices above 10,000"),
        ("5 %; 3 %", "does not say up to which price"),
        ("10 % to 10,000; 5 % to 5,000; 3 %", "ends at 5,000"),
        ("10 % to 10,000 then 5 % above 20,000", "starts at 20,000"),
        ("5 % to 10,000 then 4 % to 20,000; 3 %", "both 'then' and ';'"),
        ("-5 %", "-5 %"),
    ],
)
def test_a_fee_that_cannot_be_read_is_refused_naming_the_part_and_the_forms_that_work(text: str, named: str) -> None:
    with pytest.raises(BadInput) as refusal:
        parse_fee(text, "candidate.toml: sale buyer_fee")
    (problem,) = refusal.value.problems
    assert named in problem.text and problem.where == "candidate.toml: sale buyer_fee"
    assert all(form in problem.text for form in FORMS)


def test_every_bad_part_of_a_schedule_is_named_in_one_go() -> None:
    with pytest.raises(BadInput) as refusal:
        parse_fee("x to 5,000; 500 to 10,000; y above")
    assert [("'x to 5,000'" in p.text, "'y above'" in p.text) for p in refusal.value.problems] == [(True, False), (False, True)]


def test_a_price_below_nothing_has_no_fee() -> None:
    with pytest.raises(ValueError, match="0 or more"):
        parse_fee("5 %").fee(-1.0)
