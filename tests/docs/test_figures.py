"""The page of figures: one group may be measured anew, the rest stays as it was measured."""

from __future__ import annotations

from figures import renewed
from measures.figure import Figure


def test_figures_measured_anew_stand_where_they_stood_and_the_others_stay() -> None:
    def some(**values: int) -> list[Figure]:
        return [Figure(name, value, "", "", True, "", "") for name, value in values.items()]

    old = some(belief=1, first=2, speed=3, later=4)
    assert renewed(old, some(first=5, fresh=6, later=7)) == some(belief=1, first=5, fresh=6, later=7, speed=3)
    assert renewed(old, some(fresh=8)) == some(belief=1, first=2, speed=3, later=4, fresh=8)
