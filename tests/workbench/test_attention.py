"""What attention to a candidate is worth: sooner is more, near the ceiling is more, decided is nothing."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime, timedelta

import pytest

from weldworth.core.errors import BadInput
from weldworth.tables import load_tables
from weldworth.workbench.summary import AttentionTerms, attention, attention_terms, differing, moment_of

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
TERMS = AttentionTerms(near_share=0.2, half_days=3, least_urgency=0.1, undated_urgency=0.2)
BODY = {"ceiling": 10000.0, "because": "margin", "even": [7437.0, 10000.0, 12563.0], "best_ask": "a picture", "best_net": 90.0}


def worth(price: float | None = 10000.0, days: float | None = 3.0, stage: str = "bid", **changes: object) -> float:
    closes = None if days is None else NOW + timedelta(days=days)
    return attention({**BODY, **changes}, stage=stage, price=price, closes=closes, now=NOW, terms=TERMS)[0]


def test_a_worked_example_by_hand() -> None:
    # s = (12563 - 7437) / 2.563 = 2000; at the ceiling 0.2 x 2000 = 400; three days out 0.1 + 0.9 x 0.5 = 0.55; 400 x 0.55 = 220.
    assert worth() == pytest.approx(220.0, rel=1e-3)
    # One s above the ceiling: 400 x exp(-1/2) = 242.6, x 0.55 = 133.4.
    assert worth(price=12000.0) == pytest.approx(133.4, rel=1e-3)
    # Far from the ceiling the best ask is left: 90 x 0.55.
    assert worth(price=40000.0) == pytest.approx(49.5)
    # Several asks that are worth 300 together: 300 x 0.55.
    assert worth(price=40000.0, together=4, together_net=300.0) == pytest.approx(165.0)


def test_the_sooner_it_closes_the_more_attention_is_worth_and_after_it_none() -> None:
    values = [worth(days=days) for days in (30.0, 7.0, 2.0, 0.1)]
    assert values == sorted(values)
    assert worth(days=-0.01) == 0.0
    assert worth(days=None) == pytest.approx(400 * 0.2, rel=1e-3)


def test_a_day_of_closing_lasts_until_its_end() -> None:
    assert attention(BODY, stage="bid", price=None, closes=date(2026, 11, 25), now=NOW, terms=TERMS)[0] > 0
    assert attention(BODY, stage="bid", price=None, closes=date(2026, 11, 24), now=NOW, terms=TERMS)[0] == 0


def test_a_closing_time_without_a_zone_is_that_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "MST7")
    time.tzset()
    try:
        assert moment_of(datetime(2026, 12, 5, 18)) == datetime(2026, 12, 6, 1, tzinfo=UTC)
        assert moment_of(date(2026, 12, 5)) == datetime(2026, 12, 6, 6, 59, tzinfo=UTC)
        assert moment_of(datetime(2026, 12, 5, 18, tzinfo=UTC)) == datetime(2026, 12, 5, 18, tzinfo=UTC)
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize("stage", ["bought", "passed", "lost", "sold"])
def test_what_is_decided_needs_no_attention(stage: str) -> None:
    assert worth(stage=stage) == 0.0


def test_where_nothing_pays_only_an_ask_is_worth_looking_at() -> None:
    assert worth(because="nothing pays", ceiling=0.0, price=100.0) == pytest.approx(49.5)


def test_the_numbers_of_the_table_are_within_reason_and_a_wrong_one_is_refused() -> None:
    terms = attention_terms(load_tables())
    assert 0 < terms.least_urgency <= terms.undated_urgency < 1 and terms.half_days > 0
    with pytest.raises(BadInput):
        attention_terms(_Halved())  # type: ignore[arg-type]


class _Halved:
    def rows(self, name: str, columns: tuple[str, ...]) -> list[object]:
        return load_tables().rows(name, columns)[:2]


def test_figures_that_differ_in_the_tenth_digit_are_the_same_and_in_the_eighth_are_not() -> None:
    assert differing({"a": 1e6, "b": {"z": [0.5]}}, {"a": 1e6 * (1 + 1e-11), "b": {"z": [0.5]}}) == ()
    assert differing({"a": 1e6, "b": {"z": [0.5]}}, {"a": 1e6 * (1 + 1e-8), "b": {"z": [0.5, 0.1]}}) == ("a", "b")
    assert differing({"a": 1}, {"c": 1}) == ("a", "c")
