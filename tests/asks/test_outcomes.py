"""What asks foretell of a probe against how the belief reads the same probe once it is reported."""

from __future__ import annotations

import numpy as np
import pytest

from weldworth.asks.outcomes import probe_chances
from weldworth.belief.sight import lexicon, seen
from weldworth.tables import load_tables
from weldworth.vehicle.conditions import SOUND


@pytest.mark.parametrize("q", [0.2, 0.5, 0.8, 0.95])
def test_a_probe_that_goes_through_sound_metal_is_as_rare_beforehand_as_when_reported(q: float):
    lex = lexicon(load_tables())
    foretold = probe_chances(lex, q)
    assert foretold.sum(axis=0) == pytest.approx(np.ones(6))
    reported = seen(lex, lex.signs["goes-through"], q, absent=False)
    assert foretold[3, SOUND] == pytest.approx(reported[SOUND], rel=0.01)
