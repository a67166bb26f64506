"""Characters burnt out by glare: where they are missing, what may stand there, and what is said about it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from plates import plate
from test_plate import PUBLISHED, TERMS, frames_of

from weldworth.picture.glare import burnt, let_out, opened
from weldworth.picture.plate import read_plate
from weldworth.picture.spelling import ALPHABET, blurred, completed, log_scores, passing, spellings

OPEN = TERMS | {"unread": 0.1, "unread_end": 0.5}


def burnt_out(places: list[int]) -> tuple[np.ndarray, np.ndarray]:
    """Frames of the published number in which the characters at `places` cannot be seen, and the share of 10 columns a frame."""
    frames = frames_of(PUBLISHED, 0.99)
    share = np.zeros(10 * len(frames))
    for place in places:
        frames[2 * place] = frames[1]
        share[20 * place - 5 : 20 * place + 15] = 1
    return frames, share


def test_a_burnt_serial_digit_is_given_back_by_the_check_digit() -> None:
    # 49 CFR 565.15(c): the weights of positions 14 to 17 are 5, 4, 3 and 2, none a multiple of 11, so one digit alone fits
    frames, share = burnt_out([14])
    assert PUBLISHED not in spellings(frames)
    mended, places = opened(frames, share, OPEN)
    assert places == (14,)
    texts = completed([text for text in spellings(mended) if len(text) == 17][:1], places)
    assert [text for text in texts if text[13:].isdigit()] == [PUBLISHED]


def test_two_burnt_characters_in_a_row_are_counted_and_completed() -> None:
    mended, places = opened(*burnt_out([4, 5]), OPEN)
    assert places == (4, 5)
    whole = [text for text in spellings(mended) if len(text) == 17][:1]
    texts = completed(whole, places)
    assert PUBLISHED in texts and all(passing(text) for text in texts)
    differing = {place for text in texts for place in range(17) if text[place] != PUBLISHED[place]}
    assert differing == {4, 5}


def test_what_stands_in_a_burnt_place_is_as_likely_one_as_another() -> None:
    mended, _ = opened(*burnt_out([14]), OPEN)
    others = [PUBLISHED[:14] + char + PUBLISHED[15:] for char in ALPHABET]
    scores = log_scores(blurred(mended, OPEN | {"confused": 0, "any_other": 1e-9}), others)
    # a neighbour of the same character needs a blank between, so it may come out a little different
    assert np.ptp(np.exp(scores - scores.max())) < 0.3
    without = log_scores(mended, [PUBLISHED[:14] + PUBLISHED[15:]])[0]
    assert np.exp(without - np.logaddexp.reduce(scores)) == pytest.approx(0.1 / 0.9, rel=0.1)


def test_a_wide_space_that_is_not_burnt_stays_a_space() -> None:
    frames, share = burnt_out([14])
    same, places = opened(frames, np.zeros_like(share), OPEN)
    assert places == () and np.array_equal(same, frames)


def test_black_characters_on_white_are_not_burnt_and_a_white_patch_is() -> None:
    (wide, _), _ = cv2.getTextSize("8B3K5H9", cv2.FONT_HERSHEY_SIMPLEX, 1.8, 6)
    line = np.full((60, wide, 3), 255, np.uint8)
    cv2.putText(line, "8B3K5H9", (0, 50), cv2.FONT_HERSHEY_SIMPLEX, 1.8, (0, 0, 0), 6)
    assert burnt(line).max() == 0
    metal = np.full((60, 400, 3), 120, np.uint8)
    metal[:, 150:220] = 255
    share = burnt(metal)
    assert share[160:210].min() > 0.9 and share[:140].max() == share[230:].max() == 0


def test_letting_a_box_out_keeps_its_height_and_direction() -> None:
    box = np.array([[10, 10], [90, 30], [86, 46], [6, 26]], dtype=float)
    wider = let_out(box)
    run, fall = box[1] - box[0], box[3] - box[0]
    assert wider[3] - wider[0] == pytest.approx(fall)
    assert (wider[1] - wider[0]) / np.hypot(*(wider[1] - wider[0])) == pytest.approx(run / np.hypot(*run))
    assert np.hypot(*(wider[0] - box[0])) == pytest.approx(1.2 * np.hypot(*fall))


def test_plates_with_burnt_characters_are_read_by_their_check_digit() -> None:
    for seed in (60011, 60019, 60033):
        scene = plate(seed, "glare")
        reading = read_plate(scene.image)
        assert scene.text in [candidate.text for candidate in reading.candidates[:3]], seed
        assert any(remark.code == "burnt-out" for remark in reading.remarks)
        assert reading.candidates[0].probability < 0.9


def test_a_number_whose_first_character_is_burnt_is_read_from_before_its_box() -> None:
    scene = plate(60021, "glare")
    assert len(read_plate(scene.image).candidates[0].text) == len(scene.text)


def test_a_space_on_a_white_label_is_a_space() -> None:
    label = np.full((240, 720, 3), 255, np.uint8)
    cv2.putText(label, "PL  26830417", (30, 140), cv2.FONT_HERSHEY_SIMPLEX, 2.6, (0, 0, 0), 8)
    reading = read_plate(label)
    assert reading.candidates[0].text == "PL26830417"
    assert not any(remark.code == "burnt-out" for remark in reading.remarks)


def test_nothing_is_said_of_glare_where_there_is_none() -> None:
    reading = read_plate(plate(430, "printed", 17).image)
    assert not any(remark.code == "burnt-out" for remark in reading.remarks)
