"""Rust judged by the colours that it has in the same picture."""

from __future__ import annotations

import numpy as np
import pytest

from weldworth.picture.colours import by_colour

BROWN, GREY, GREEN = (110, 62, 38), (140, 142, 145), (60, 110, 50)


def picture() -> np.ndarray:
    """Left half brown, right half grey, a green patch in its corner; 80 high, 160 wide."""
    image = np.empty((80, 160, 3), np.uint8)
    image[:, :80], image[:, 80:], image[:20, 140:] = BROWN, GREY, GREEN
    noise = np.random.default_rng(3).integers(-3, 4, image.shape)
    return np.clip(image.astype(int) + noise, 0, 255).astype(np.uint8)


def test_what_is_sure_in_one_place_raises_the_same_colour_elsewhere_and_no_other():
    first = np.full((80, 160), 0.05, np.float32)
    first[:, :80] = 0.4
    first[20:60, 10:50] = 0.97
    found = by_colour(picture(), first)
    assert found[5, 70] > 0.5 > first[5, 70], "brown that was unsure"
    assert found[70, 120] < first[70, 120] and found[5, 150] < first[5, 150], "grey and green"


def test_a_stray_guess_on_a_colour_that_is_elsewhere_surely_none_is_lowered():
    first = np.full((80, 160), 0.02, np.float32)
    first[:, :80] = 0.9
    first[60:66, 120:126] = 0.6
    assert by_colour(picture(), first)[63, 123] < 0.4


@pytest.mark.parametrize("chance", [0.001, 0.03, 0.2])
def test_a_picture_in_which_nothing_was_seen_shows_nothing_still(chance):
    found = by_colour(picture(), np.full((40, 80), chance, np.float32))
    assert found.shape == (40, 80) and found.max() < 0.5


def test_all_of_a_picture_may_be_rust():
    assert by_colour(picture(), np.full((40, 80), 0.95, np.float32)).min() > 0.9
