"""How often somebody may try a password."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from weldworth.web.errors import TooOften
from weldworth.web.limits import Tries

NOW = datetime(2026, 11, 25, tzinfo=UTC)


def test_after_five_wrong_tries_there_is_a_wait_that_ends() -> None:
    tries = Tries(most=5, span=timedelta(minutes=5))
    for second in range(5):
        tries.check("ada", NOW + timedelta(seconds=second))
        tries.note("ada", NOW + timedelta(seconds=second))
    with pytest.raises(TooOften) as refused:
        tries.check("ada", NOW + timedelta(seconds=10))
    assert 0 < refused.value.seconds <= 300
    tries.check("ben", NOW + timedelta(seconds=10))
    tries.check("ada", NOW + timedelta(seconds=refused.value.seconds + 10))


def test_a_right_password_wipes_the_slate() -> None:
    tries = Tries(most=2)
    tries.note("ada", NOW)
    tries.forget("ada")
    tries.note("ada", NOW)
    tries.check("ada", NOW)
