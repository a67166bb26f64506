"""Many pictures at once: the desk opens without waiting for the machine, says so, and the figures follow."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from weldworth.picture.decode import encoded
from weldworth.workbench.desk import Desk
from weldworth.workbench.looking import AT_ONCE

RUSTY = Path(__file__).resolve().parents[1] / "picture/data/rust_phone_41.jpg"
ZONE = "pu.frame.tail"


def give(desk: Desk, id: str, by: str, count: int) -> None:
    """A real picture of rust at one zone, and pictures of noise on none."""
    desk.add_picture(id, RUSTY.read_bytes(), RUSTY.name, by, zones=[ZONE])
    for seed in range(count - 1):
        noise = np.random.default_rng(seed).integers(0, 255, (240, 320, 3), dtype=np.uint8)
        desk.add_picture(id, encoded(noise, 80), f"noise-{seed}.jpg", by)


def codes(desk: Desk, id: str) -> set[str]:
    return {remark.code for remark in desk.weighing(id).remarks}


def test_of_many_pictures_none_is_waited_for_and_the_figures_follow_in_a_quiet_moment(desk: Desk, pickup: str, ann: str) -> None:
    before = desk.metal(pickup).belief.of(ZONE)
    give(desk, pickup, ann, AT_ONCE + 1)
    assert desk.to_look_at(pickup) == AT_ONCE + 1
    assert desk.metal(pickup).belief.of(ZONE) == pytest.approx(before, abs=1e-12)
    assert "not-looked" in codes(desk, pickup)
    early = desk.weighing(pickup).bill.mean
    desk.refresh()
    assert desk.to_look_at(pickup) == 0
    after = desk.metal(pickup).belief.of(ZONE)
    assert after["sound"] < before["sound"]
    assert "not-looked" not in codes(desk, pickup) and desk.weighing(pickup).bill.mean != early
    assert desk.line(pickup).fresh


def test_few_pictures_are_looked_at_when_they_are_weighed(desk: Desk, pickup: str, ann: str) -> None:
    before = desk.metal(pickup).belief.of(ZONE)
    give(desk, pickup, ann, AT_ONCE)
    assert desk.to_look_at(pickup) == 0
    assert desk.metal(pickup).belief.of(ZONE)["sound"] < before["sound"]
    assert "not-looked" not in codes(desk, pickup)


def test_a_snapshot_names_what_was_not_looked_at_and_comes_out_the_same_without_it(desk: Desk, pickup: str, ann: str) -> None:
    give(desk, pickup, ann, AT_ONCE + 1)
    seq = desk.snapshot(pickup, "before the bid", ann).seq
    desk.refresh()
    later = desk.snapshot(pickup, "after", ann).seq
    first, second = desk.snapshots(pickup)
    assert (first.seq, len(first.unlooked), second.seq, second.unlooked) == (seq, AT_ONCE + 1, later, ())
    assert set(first.unlooked) == {picture.sha256 for picture in desk.candidate(pickup).pictures}
    assert desk.recompute(pickup, seq).same and desk.recompute(pickup, later).same
    assert first.body["belief"] != second.body["belief"]
    assert desk.verify(pickup) == {}
