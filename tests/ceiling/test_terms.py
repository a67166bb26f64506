"""The shop's terms: defaults, overrides and refusals."""

from __future__ import annotations

from pathlib import Path

import pytest

from weldworth.ceiling.terms import DEAL_KEYS, deal_terms_from
from weldworth.core.errors import BadInput
from weldworth.tables.load import SHIPPED, load_tables


def test_the_shipped_terms_lie_in_the_bands_of_the_trade() -> None:
    # Common practice, no source: selling 5-10 of 100, margin 15-25 of 100 or 2,500, holding 150-400 a month.
    terms = deal_terms_from({}, load_tables())
    assert 0.05 <= terms.selling_cost <= 0.10 and 0.15 <= terms.margin <= 0.25 and terms.margin_least == 2_500
    assert 150 <= terms.holding_per_month <= 400 and 0.2 <= terms.chance_of_loss <= 0.3
    assert terms.holding == terms.holding_months * terms.holding_per_month
    assert terms.fixed_costs == terms.holding + terms.mechanical_reserve + terms.title_cost


def test_a_shops_own_terms_are_read_as_people_write_them() -> None:
    own = {
        "selling_cost": "8 %",
        "margin_least": "3,000",
        "holding_months": 4,
        "bidders": 6,
        "others_see": "more",
        "currency": "CAD",
    }
    terms = deal_terms_from(own, load_tables())
    assert (terms.selling_cost, terms.margin_least, terms.holding_months, terms.currency) == (0.08, 3_000, 4, "CAD")
    assert terms.rivals("asked") == terms.rivals("auction") == 6


def test_nobody_bids_against_an_asked_price_and_three_at_an_auction_unless_somebody_counted() -> None:
    terms = deal_terms_from({}, load_tables())
    assert (terms.rivals("asked"), terms.rivals("auction")) == (0, 3)


def test_the_more_the_others_see_the_more_of_the_spread_they_resolve() -> None:
    less, same, more = (deal_terms_from({"others_see": word}, load_tables()).resolved_share for word in ("less", "same", "more"))
    assert 0 <= less < same < more <= 1


@pytest.mark.parametrize(
    ("key", "value", "named"),
    [
        ("margn", 0.2, "nearest: 'margin'"),
        ("margin", 20, "'20 %'"),
        ("margin", True, "'20 %'"),
        ("selling_cost", "a tenth", "'20 %'"),
        ("chance_of_loss", -0.1, "from 0 to below 1"),
        ("tax", float("nan"), "from 0 to below 1"),
        ("margin_least", -1, "0 or more"),
        ("title_cost", "7.500", "7,500 or 7.50"),
        ("holding_months", "six", "months from 0 to 120"),
        ("holding_months", 500, "months from 0 to 120"),
        ("bidders", 2.5, "whole number"),
        ("bidders", -1, "whole number"),
        ("currency", "usd", "three capital letters"),
        ("others_see", "moar", "nearest: 'more'"),
    ],
)
def test_a_term_that_cannot_be_is_refused_with_the_remedy(key: str, value: object, named: str) -> None:
    with pytest.raises(BadInput) as refusal:
        deal_terms_from({key: value}, load_tables(), "candidate.toml: shop")
    (problem,) = refusal.value.problems
    assert named in problem.text and key in problem.text and problem.where == "candidate.toml: shop"


def test_all_bad_terms_are_named_in_one_go() -> None:
    with pytest.raises(BadInput) as refusal:
        deal_terms_from({"margn": 1, "tax": 7, "bidders": -1}, load_tables())
    assert len(refusal.value.problems) == 3


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ("title_cost,150", "titel_cost,150", "there is no row 'title_cost'"),
        ("margin,0.2,", "margin,20,", "margin is 20"),
        ("share_less,0.15", "share_less,0.5", "must not fall"),
        ("bidders_auction,3", "bidders_auction,2.5", "whole number"),
    ],
)
def test_a_shops_own_table_of_terms_is_checked_on_loading(tmp_path: Path, old: str, new: str, named: str) -> None:
    shipped = (SHIPPED / "deal.csv").read_text(encoding="utf-8")
    assert old in shipped
    (tmp_path / "deal.csv").write_text(shipped.replace(old, new), encoding="utf-8")
    with pytest.raises(BadInput, match=named):
        deal_terms_from({}, load_tables(tmp_path))


def test_every_key_can_be_overridden_with_its_own_default() -> None:
    terms = deal_terms_from({}, load_tables())
    own = {key: getattr(terms, key) for key in DEAL_KEYS if key != "bidders"}
    assert deal_terms_from(own, load_tables()) == terms
