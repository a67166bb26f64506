"""Closing times in words."""

from __future__ import annotations

from datetime import date, datetime

from hypothesis import given
from hypothesis import strategies as st

from weldworth.web.times import GROUPS, LATER, NO_CLOCK, OVER, TODAY, WEEK, closing

NOW = datetime(2026, 11, 25, 15, 28)


def test_a_sale_that_closes_this_evening_is_told_by_the_clock() -> None:
    found = closing(datetime(2026, 11, 25, 18, 40), NOW)
    assert (found.clock, found.until, found.group) == ("18:40", "in 3 h 12", TODAY)


def test_tomorrow_noon_is_told_in_hours_and_four_days_in_days() -> None:
    assert closing(datetime(2026, 11, 26, 12, 0), NOW).until == "in 20 h"
    sunday = closing(datetime(2026, 11, 29, 19, 30), NOW)
    assert (sunday.clock, sunday.until, sunday.group) == ("Sun 19:30", "in 4 days", WEEK)


def test_a_day_without_a_time_closes_at_its_end() -> None:
    assert closing(date(2026, 11, 25), NOW).group == TODAY
    assert closing(date(2026, 11, 24), NOW).group == OVER


def test_next_year_is_told_with_its_year_once_it_is_over() -> None:
    assert closing(date(2025, 3, 1), NOW).clock == "1 Mar 2025"
    assert closing(date(2027, 1, 8), NOW).group == LATER


def test_no_closing_time_has_a_heading_of_its_own() -> None:
    assert closing(None, NOW).group == NO_CLOCK


@given(st.datetimes(datetime(2026, 11, 20), datetime(2027, 11, 20)), st.datetimes(datetime(2026, 11, 20), datetime(2027, 11, 20)))
def test_what_closes_sooner_never_stands_under_a_later_heading(first: datetime, second: datetime) -> None:
    a, b = closing(min(first, second), NOW).group, closing(max(first, second), NOW).group
    open_groups = [group for group in GROUPS if group != OVER]
    if OVER not in (a, b):
        assert open_groups.index(a) <= open_groups.index(b)
