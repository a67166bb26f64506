"""The same picture, or a copy of it, in another candidate of the shop. Pictures: tests/picture/data/intake_credits.md."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from desks import desk_on

from weldworth.core.remark import Remark
from weldworth.picture.decode import encoded
from weldworth.workbench.desk import Desk

DATA = Path(__file__).resolve().parents[1] / "picture/data"
PANEL, RUSTY = DATA / "intake_panel_a.jpg", DATA / "rust_phone_41.jpg"


def pixels(file: Path = PANEL) -> np.ndarray:
    return cv2.cvtColor(cv2.imread(str(file)), cv2.COLOR_BGR2RGB)


def copied(how: str) -> bytes:
    """The panel squeezed, and besides: as it is, mirrored, or without its upper and left third."""
    whole = pixels()
    high, wide = whole.shape[:2]
    changed = {"same": whole, "mirrored": whole[:, ::-1], "part": whole[high // 3 :, wide // 3 :]}[how]
    return encoded(np.ascontiguousarray(changed), 60)


@pytest.fixture
def shop(desk: Desk, ann: str) -> tuple[str, str]:
    """Two candidates: one with the panel, one with nothing yet."""
    one = desk.open_candidate("The blue pickup", "pickup", ann)
    desk.add_picture(one, PANEL.read_bytes(), "left.jpg", ann)
    desk.add_picture(one, RUSTY.read_bytes(), "rail.jpg", ann)
    return one, desk.open_candidate("The green one", "pickup", ann)


def told(desk: Desk, id: str) -> list[Remark]:
    """The remarks once quiet moments have passed."""
    while desk.compare_ahead():
        pass
    return desk.alike_elsewhere(id)


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ("same", "looks the same as left.jpg of The blue pickup"),
        ("mirrored", "looks like left.jpg of The blue pickup mirrored"),
        ("part", "looks like a part of left.jpg of The blue pickup"),
    ],
)
def test_a_copy_of_another_candidates_picture_is_remarked_on_in_both(
    how: str, words: str, desk: Desk, ann: str, shop: tuple[str, str]
) -> None:
    one, other = shop
    desk.add_picture(other, copied(how), "sent.jpg", ann)
    (remark,) = told(desk, other)
    assert (remark.code, remark.about) == ("alike-elsewhere", "sent.jpg") and remark.text.startswith(words)
    assert [r.about for r in told(desk, one)] == ["left.jpg"] and "The green one" in told(desk, one)[0].text


def test_the_same_file_is_named_at_once_and_a_different_picture_is_not(desk: Desk, ann: str, shop: tuple[str, str]) -> None:
    _, other = shop
    desk.add_picture(other, PANEL.read_bytes(), "again.jpg", ann)
    desk.add_picture(other, (DATA / "rust_phone_12.jpg").read_bytes(), "else.jpg", ann)
    assert [(r.about, r.text[:32]) for r in told(desk, other)] == [("again.jpg", "is the same file as left.jpg of ")]


def test_the_remark_stands_with_the_weighing_and_with_the_picture(desk: Desk, ann: str, shop: tuple[str, str]) -> None:
    _, other = shop
    desk.record(other, "resale", {"low": 15000, "likely": 19000, "high": 26000}, ann)
    sha256 = str(desk.add_picture(other, copied("mirrored"), "sent.jpg", ann).body["sha256"])
    while desk.refresh():
        pass
    assert "alike-elsewhere" in {remark.code for remark in desk.weighing(other).remarks}
    assert any("The blue pickup mirrored" in text for text in desk.machine_findings(other, sha256).remarks)


def test_what_was_made_ready_is_kept_and_a_desk_opened_anew_makes_nothing_again(
    desk: Desk, ann: str, shop: tuple[str, str], tmp_path: Path
) -> None:
    one, other = shop
    desk.add_picture(other, copied("mirrored"), "sent.jpg", ann)
    assert [desk.compare_ahead(most=2), desk.compare_ahead(most=2), desk.compare_ahead(most=2)] == [2, 1, 0]
    kept = [desk.pictures.path(picture.sha256, "card") for picture in desk.candidate(one).pictures]
    before = [path.stat().st_mtime_ns for path in kept]
    fresh = desk_on(desk.store, tmp_path)
    assert [remark.about for remark in told(fresh, other)] == ["sent.jpg"]
    assert [path.stat().st_mtime_ns for path in kept] == before
    kept[0].write_bytes(b"damaged")
    assert [remark.about for remark in told(desk_on(desk.store, tmp_path), other)] == ["sent.jpg"]


def test_a_picture_taken_back_there_is_no_longer_named(desk: Desk, ann: str, shop: tuple[str, str]) -> None:
    one, other = shop
    desk.add_picture(other, copied("same"), "sent.jpg", ann)
    assert told(desk, other)
    desk.withdraw(one, desk.picture(one, str(desk.candidate(one).pictures[0].sha256)).seq, ann)
    desk.describe_picture(other, desk.candidate(other).pictures[0].sha256, {"note": "looked at"}, ann)
    assert told(desk, other) == []


def test_what_is_no_picture_is_passed_over(desk: Desk, ann: str, shop: tuple[str, str]) -> None:
    _, other = shop
    desk.add_picture(other, b"not a picture", "list.jpg", ann)
    assert told(desk, other) == []


def test_what_came_to_another_candidate_is_told_after_a_quiet_moment_and_no_page_waits_for_it(
    desk: Desk, ann: str, shop: tuple[str, str]
) -> None:
    one, other = shop

    def waits(id: str) -> bool:
        return False

    assert desk.told_elsewhere(one, waits) == []
    desk.add_picture(other, PANEL.read_bytes(), "again.jpg", ann)
    assert desk.told_elsewhere(one, waits) == []
    desk.refresh()
    assert [remark.about for remark in desk.told_elsewhere(one, waits)] == ["left.jpg"]
    assert [remark.about for remark in desk.told_elsewhere(other, waits)] == ["again.jpg"], "its own pictures are not waited for"
