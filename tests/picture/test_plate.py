"""Vehicle numbers read from rendered plates, and how frames become candidates."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from plates import plate

from weldworth.core.errors import BadInput
from weldworth.picture.plate import read_plate
from weldworth.picture.spelling import ALPHABET, believed, blurred, columns, log_scores, neighbours, passing, spellings
from weldworth.vehicle.number import check_digit

TERMS = {"checked": 0.9, "letter_in_serial": 0.02, "year_unused": 0.1, "odd_length": 0.1, "confused": 0.01, "any_other": 0.002}
PUBLISHED = "1M8GDM9AXKP042788"  # worked example of the check digit in many publications; 49 CFR 565.15(c)


def frames_of(text: str, sure: float = 0.9) -> np.ndarray:
    """Frames that spell `text`, each character between blanks."""
    rows = []
    for char in text:
        row = np.full(1 + len(ALPHABET), (1 - sure) / len(ALPHABET))
        row[1 + ALPHABET.index(char)] = sure
        blank = np.full(1 + len(ALPHABET), 1e-6)
        blank[0] = 1
        rows += [row / row.sum(), blank / blank.sum()]
    return np.array(rows)


def test_plain_and_stamped_plates_are_read_first_time() -> None:
    for kind in ("printed", "relief", "rust", "tilt"):
        scenes = [plate(seed, kind) for seed in (400, 401, 402)]
        right = [read_plate(scene.image).candidates[0].text == scene.text for scene in scenes]
        assert sum(right) >= 2, kind


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_a_plate_turned_by_quarter_turns_is_read_the_same(turns: int) -> None:
    scene = plate(410, "printed", 17)
    turned = np.ascontiguousarray(np.rot90(scene.image, turns))
    reading = read_plate(turned)
    assert reading.candidates[0].text == scene.text
    assert reading.crop.shape[1] > reading.crop.shape[0]


def test_probabilities_of_candidates_and_of_none_of_them_make_one() -> None:
    for seed in (420, 421, 422):
        reading = read_plate(plate(seed, "painted").image)
        chances = [candidate.probability for candidate in reading.candidates]
        assert sum(chances) + reading.other == pytest.approx(1, abs=1e-9)
        assert chances == sorted(chances, reverse=True) and reading.other >= 0
        assert len(reading.characters) == len(reading.candidates[0].text)
        assert any(remark.code == "suggestion" for remark in reading.remarks)


def test_the_box_lies_on_the_plate_and_moves_with_the_region() -> None:
    scene = plate(430, "printed", 17)
    whole = read_plate(scene.image)
    height, width = scene.image.shape[:2]
    part = read_plate(scene.image, (20, 15, width - 20, height - 15))
    assert part.candidates[0].text == whole.candidates[0].text == scene.text
    assert np.array(part.box).mean(axis=0) == pytest.approx(np.array(whole.box).mean(axis=0), abs=6)


def test_the_check_digit_decides_between_two_equally_likely_readings() -> None:
    assert passing(PUBLISHED)
    place = PUBLISHED.index("8", 12)
    frames = frames_of(PUBLISHED)
    row = frames[2 * place]
    row[1 + ALPHABET.index("B")] = row[1 + ALPHABET.index("8")]
    frames[2 * place] = row / row.sum()
    wrong = PUBLISHED[:place] + "B" + PUBLISHED[place + 1 :]
    seen = log_scores(frames, [PUBLISHED, wrong])
    assert seen[0] == pytest.approx(seen[1])
    assert believed(PUBLISHED, TERMS) > believed(wrong, TERMS)
    assert PUBLISHED in neighbours([wrong])


def test_a_right_check_digit_is_worth_its_odds() -> None:
    # one in eleven passes by chance: 0.9 over passing against 0.1 over ten times as many others is 90 to 1, by hand
    wrong = PUBLISHED[:8] + "3" + PUBLISHED[9:]
    assert believed(PUBLISHED, TERMS) - believed(wrong, TERMS) == pytest.approx(np.log(90))


def test_the_forward_sum_equals_adding_up_every_path() -> None:
    rng = np.random.default_rng(7)
    frames = np.zeros((4, 1 + len(ALPHABET)))
    frames[:, :3] = rng.dirichlet([1, 1, 1], 4)
    texts = ("0", "1", "01", "11", "010")
    for text, together in zip(texts, log_scores(frames, texts), strict=True):
        total = 0.0
        for path in product(range(3), repeat=4):
            spelt = "".join(ALPHABET[c - 1] for c, before in zip(path, (0, *path), strict=False) if c and c != before)
            total += float(np.prod(frames[range(4), path])) if spelt == text else 0.0
        assert log_scores(frames, [text])[0] == pytest.approx(np.log(total))
        assert together == pytest.approx(np.log(total))


def test_the_beam_finds_the_text_that_the_frames_spell() -> None:
    assert spellings(frames_of(PUBLISHED))[0] == PUBLISHED


def test_blurring_keeps_each_frame_a_distribution_and_prefers_known_confusions() -> None:
    frames = blurred(frames_of("8"), TERMS)
    assert frames.sum(axis=1) == pytest.approx(1)
    b, w = (frames[0, 1 + ALPHABET.index(char)] for char in "BW")
    assert b > w


def test_letters_that_no_number_holds_are_read_as_what_they_were() -> None:
    # I, O and Q are never used, 49 CFR 565
    matrix = columns(["blank", "I", "o", "Q", "-", "k"])
    read = ["" if not row.argmax() else ALPHABET[row.argmax() - 1] for row in matrix]
    assert read == ["", "1", "0", "0", "", "K"]


def test_an_older_number_gets_no_check_verdict() -> None:
    reading = read_plate(plate(440, "printed", 13).image)
    assert reading.candidates[0].check == "none"
    assert any(remark.code == "no-check-digit" for remark in reading.remarks)


def test_invented_numbers_of_the_renderer_have_right_check_digits() -> None:
    for seed in range(5):
        text = plate(seed, "printed", 17).text
        assert check_digit(text) == text[8]


def test_of_the_lengths_between_older_and_newer_numbers_little_is_believed() -> None:
    lengths = [believed("1" * length, TERMS) for length in (13, 14, 16)]
    assert lengths[0] - lengths[1] == pytest.approx(np.log(10)) and lengths[1] == lengths[2]


def test_faint_pricked_characters_are_found_and_read() -> None:
    """What finds print sees nothing like a number in these."""
    scenes = [plate(seed, "dot-peen") for seed in (60022, 63030, 63044, 63045)]
    right = [read_plate(scene.image).candidates[0].text == scene.text for scene in scenes]
    assert sum(right) >= 3


def test_a_picture_without_text_is_refused_with_the_remedy() -> None:
    empty = np.full((240, 320, 3), 120, np.uint8)
    with pytest.raises(BadInput, match="mark the plate"):
        read_plate(empty)
    with pytest.raises(BadInput, match="take it again"):
        read_plate(empty, (10, 10, 300, 200))


@pytest.mark.parametrize("region", [(-1, 0, 50, 50), (0, 0, 400, 50), (30, 30, 20, 60), (0, 0, 5, 5)])
def test_a_region_outside_the_picture_is_refused(region: tuple[int, int, int, int]) -> None:
    with pytest.raises(BadInput, match="region"):
        read_plate(np.full((240, 320, 3), 120, np.uint8), region)


def test_what_is_no_colour_picture_is_refused() -> None:
    for image in (np.zeros((240, 320), np.uint8), np.zeros((240, 320, 3), np.float32), np.zeros((4, 4, 3), np.uint8)):
        with pytest.raises(BadInput, match="cannot be read"):
            read_plate(image)  # type: ignore[arg-type]
