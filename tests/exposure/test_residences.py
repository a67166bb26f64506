"""A history laid out over the life: gaps, overlaps, years that cannot be."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.exposure.history import Residence, lay_out, problems_of

YEARS = st.floats(1960, 2026).map(lambda year: round(year, 2))
WORDS = {
    "storage": ["outside", "garage"],
    "ground": ["grass"],
    "coating": ["factory"],
    "use": ["daily"],
    "interior": ["bare"],
    "roof": ["soft"],
}


def some_residences() -> st.SearchStrategy[list[Residence]]:
    spans = st.tuples(YEARS, YEARS).map(sorted).filter(lambda span: span[1] > 1976 and span[0] < span[1])
    return st.lists(spans.map(lambda span: Residence("Detroit, MI", span[0], span[1])), max_size=5)


@given(some_residences())
def test_the_spans_cover_the_life_once_and_whole(residences: list[Residence]) -> None:
    spans, _ = lay_out(residences, built=1976.0, until=2026.0, closed_gap=1.0)
    assert spans[0].start == 1976.0 and spans[-1].end == 2026.0
    assert all(a.end == b.start for a, b in pairwise(spans))
    assert sum(span.years for span in spans) == pytest.approx(50.0)


@given(some_residences(), st.randoms(use_true_random=False))
def test_the_order_in_which_places_are_told_does_not_matter(residences: list[Residence], chance: object) -> None:
    mixed = list(residences)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    told, _ = lay_out(residences, built=1976.0, until=2026.0, closed_gap=1.0)
    again, _ = lay_out(mixed, built=1976.0, until=2026.0, closed_gap=1.0)
    assert told == again


def test_a_gap_is_kept_and_said_and_a_short_one_is_laid_to_the_place_before() -> None:
    told = [Residence("Tucson, AZ", 1976, 1990), Residence("Detroit, MI", 1990.8, 2000), Residence("Atlanta, GA", 2005)]
    spans, remarks = lay_out(told, built=1976.0, until=2026.0, closed_gap=1.0)
    assert [(s.start, s.end, s.residence is None) for s in spans] == [
        (1976.0, 1990.8, False),
        (1990.8, 2000, False),
        (2000, 2005, True),
        (2005, 2026.0, False),
    ]
    assert [remark.code for remark in remarks] == ["gap-in-history"]


def test_a_stay_inside_another_stay_takes_its_years_and_is_said() -> None:
    told = [Residence("Detroit, MI", 1976), Residence("Tucson, AZ", 1990, 1995)]
    spans, remarks = lay_out(told, built=1976.0, until=2026.0, closed_gap=1.0)
    assert [s.residence.place for s in spans if s.residence] == ["Detroit, MI", "Tucson, AZ", "Detroit, MI"]
    assert [remark.code for remark in remarks] == ["overlap"]


def test_years_before_it_was_built_do_not_count_and_are_said() -> None:
    spans, remarks = lay_out([Residence("Detroit, MI", 1970)], built=1976.0, until=2026.0, closed_gap=1.0)
    assert spans[0].start == 1976.0 and [remark.code for remark in remarks] == ["before-built"]


def test_a_stay_that_ended_before_it_was_built_is_refused() -> None:
    with pytest.raises(BadInput, match="before the vehicle was built"):
        lay_out([Residence("Detroit, MI", 1960, 1970, where="history 1")], built=1976.0, until=2026.0, closed_gap=1.0)


@pytest.mark.parametrize(("built", "until"), [(2026.0, 2026.0), (2030.0, 2026.0), (float("nan"), 2026.0)])
def test_a_vehicle_not_yet_built_is_refused(built: float, until: float) -> None:
    with pytest.raises(BadInput, match="built"):
        lay_out([], built=built, until=until, closed_gap=1.0)


@pytest.mark.parametrize(
    ("residence", "told"),
    [
        (Residence(None, 2000, 1990), "before it starts"),
        (Residence(None, 2030), "in the future"),
        (Residence(None, 2000, 2040), "leave the end out"),
        (Residence(None, float("nan")), "not a span of years"),
        (Residence(None, 2000, 2005, salted_winters=9), "from 0 to 6"),
        (Residence(None, 2000, 2005, salted_winters=-1), "from 0 to 6"),
        (Residence(None, 2000, storage="garrage"), "nearest: 'garage'"),
        (Residence(None, 2000, ground="gras"), "nearest: 'grass'"),
        (Residence(None, 2000, coating="factry"), "nearest: 'factory'"),
        (Residence(None, 2000, use="dayly"), "nearest: 'daily'"),
        (Residence(None, 2000, interior="bear"), "nearest: 'bare'"),
        (Residence(None, 2000, roof="sotf"), "nearest: 'soft'"),
    ],
)
def test_what_cannot_be_is_refused_with_value_and_remedy(residence: Residence, told: str) -> None:
    (problem,) = problems_of(residence, 2026.0, WORDS)
    assert told in problem.text


def test_everything_wrong_in_one_stay_is_said_at_once() -> None:
    residence = Residence(None, 2000, 1990, storage="garrage", ground="gras", salted_winters=50)
    assert len(problems_of(residence, 2026.0, WORDS)) == 4
