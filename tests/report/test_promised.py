"""The JSON that others rely on comes from the weighing itself, and never holds what is not a number."""

from __future__ import annotations

import json

import pytest

from weldworth.report.promised import as_text, weighing_json, zone_json
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.workbench.weigh import Weighing


def test_the_figures_are_those_of_the_weighing(weighing: Weighing) -> None:
    found = json.loads(as_text(weighing_json(weighing)))
    zone = weighing.plan.zones[0].id
    assert found["belief"][zone] == weighing.belief.of(zone)
    assert found["ceiling"]["amount"] == pytest.approx(weighing.ceiling.amount, abs=0.005)
    assert found["resale"]["p50"] == pytest.approx(60000, abs=1)


def test_a_zone_says_what_it_was_before_and_after(weighing: Weighing) -> None:
    zone = weighing.plan.zones[0].id
    found = zone_json(weighing, zone, [])
    assert list(found["before"]) == list(found["after"]) == list(CONDITIONS)  # type: ignore[call-overload]
    assert found["after"]["holed"] > found["before"]["holed"]  # type: ignore[index]


def test_what_is_no_finite_number_is_never_written() -> None:
    with pytest.raises(ValueError):
        as_text({"p10": float("nan")})
