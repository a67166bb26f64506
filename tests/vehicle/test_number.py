"""Vehicle numbers against 49 CFR 565 and the examples published with it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.vehicle.number import MISREAD, VALUES, YEAR_CODES, check_digit, check_number, model_years

ALPHABET = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
BODIES = st.text(ALPHABET, min_size=17, max_size=17)


@pytest.mark.parametrize(
    ("number", "digit"),
    [
        ("1M8GDM9AXKP042788", "X"),  # worked example, http://pandsauto.ca/do-you-have-valid-vin-number.html
        ("11111111111111111", "1"),  # "straight ones" of the same worked example
        (
            "LJCPCBLCX11000237",
            "X",
        ),  # https://scientificgems.wordpress.com/2018/04/27/mathematics-in-action-vehicle-identifications-numbers/
        ("JHMCM56557C404453", "5"),  # AntonZabolotnii/python-check-vin-number vin_check.py
        ("JTHCE96S770008889", "7"),  # same file
        ("5GZCZ43D13S812715", "1"),  # from memory: a common test pair with its twin below
        ("1HGCM82633A004352", "3"),  # from memory
    ],
)
def test_published_numbers_pass(number: str, digit: str) -> None:
    report = check_number(number)
    assert (report.form, report.passes, report.expected, report.found) == ("17-character", True, digit, digit)
    assert report.misreads == () and report.excluded == ()


@pytest.mark.parametrize(
    ("number", "digit"),
    [
        (
            "KNEJC524585810962",
            "4",
        ),  # AntonZabolotnii/python-check-vin-number vin_check.py, there commented out; not North American
        ("SGZCZ43D13S812715", "X"),  # from memory: the pair above with its 5 read as S
    ],
)
def test_published_wrong_numbers_fail_and_the_right_digit_is_named(number: str, digit: str) -> None:
    report = check_number(number)
    assert report.passes is False and report.expected == digit and report.found == number[8]
    assert any(f"should be {digit}" in sentence for sentence in report.words)


def test_the_products_of_the_worked_example_add_up_to_351() -> None:
    # http://pandsauto.ca/do-you-have-valid-vin-number.html: products of 1M8GDM9A_KP042788, sum 351, 351 mod 11 = 10
    products = [8, 28, 48, 35, 16, 12, 18, 10, 0, 18, 56, 0, 24, 10, 28, 24, 16]
    assert sum(products) == 351 and 351 % 11 == 10
    assert check_digit("1M8GDM9A_KP042788") == "X"


def test_the_commonest_misreading_that_mends_the_number_comes_first() -> None:
    report = check_number("SGZCZ43D13S812715")  # from memory: published twin 5GZCZ43D13S812715
    first = report.misreads[0]
    assert (first.position, first.read, first.likely, first.number) == (1, "S", "5", "5GZCZ43D13S812715")
    assert all(misread.passes and check_number(misread.number).passes for misread in report.misreads)


@given(BODIES, st.integers(0, 16), st.sampled_from(ALPHABET))
def test_every_single_wrong_character_is_caught_unless_both_have_one_value(body: str, place: int, other: str) -> None:
    # the rule of 49 CFR 565.15(c): weights 2..10 are prime to 11, so only equal values can pass
    number = body[:8] + check_digit(body) + body[9:]
    changed = number[:place] + other + number[place + 1 :]
    same = changed[8] == number[8] if place == 8 else VALUES[other] == VALUES[number[place]]
    assert check_number(number).passes is True
    assert check_number(changed).passes is same


@given(BODIES, st.data())
def test_a_number_misread_in_one_place_is_among_the_corrections(body: str, data: st.DataObject) -> None:
    number = body[:8] + check_digit(body) + body[9:]
    slips = [
        (place, pair[1 - side])
        for place, char in enumerate(number)
        for pair in MISREAD
        for side in (0, 1)
        if place != 8 and pair[side] == char and pair[1 - side] in VALUES and VALUES[pair[1 - side]] != VALUES[char]
    ]
    if slips:
        place, read = data.draw(st.sampled_from(slips))
        assert number in {m.number for m in check_number(number[:place] + read + number[place + 1 :]).misreads}


def test_letters_that_are_never_used_are_named_with_what_they_probably_are() -> None:
    report = check_number("IM8GDM9AXKPO42788")
    assert report.excluded == ((1, "I"), (12, "O")) and report.passes is False
    assert {m.number for m in report.misreads} == {"1M8GDM9AXKP042788"} and all(m.passes for m in report.misreads)
    assert "Position 12 was read as O, a letter that is never used; it is probably 0." in report.words


def test_position_seven_chooses_between_the_two_years_of_position_ten() -> None:
    # 49 CFR 565.15(b): a digit in position 7 before model year 2010, a letter from then on; codes repeat every 30 years
    assert model_years("1M8GDM9AXKP042788") == ((1989, 2019), 1989)
    assert model_years("1M8GDMBAXKP042788") == ((1989, 2019), 2019)


def test_year_codes_run_from_1980_to_2009_without_the_letters_that_are_never_used() -> None:
    # 49 CFR 565 Table VII, codes from memory: A 1980, H 1987, J 1988, P 1993, R 1994, T 1996, V 1997, Y 2000, 1 2001, 9 2009
    for code, year in {
        "A": 1980,
        "H": 1987,
        "J": 1988,
        "P": 1993,
        "R": 1994,
        "T": 1996,
        "V": 1997,
        "Y": 2000,
        "1": 2001,
        "9": 2009,
    }.items():
        assert 1980 + YEAR_CODES.index(code) == year
    assert len(YEAR_CODES) == 30 and not set("IOQUZ0") & set(YEAR_CODES)
    assert check_number("1M8GDM9AXUP042788").years == ()


@pytest.mark.parametrize("text", ["BN2-4471", "7 110 384", "A1*9932*", "GX90-1021 B", "1234567890123456"])
def test_an_older_number_is_the_makers_own_and_gets_no_verdict(text: str) -> None:
    report = check_number(text, model_year=1961)
    assert (report.form, report.passes, report.expected, report.years) == ("maker's own", None, None, ())
    assert "maker's own form" in report.words[0]


def test_a_short_number_on_a_younger_vehicle_is_a_reason_to_look_again() -> None:
    report = check_number("1M8GDM9AXKP04278", model_year=1989)
    assert report.passes is None and "missing" in report.words[0]


def test_spaces_dashes_and_small_letters_do_not_matter() -> None:
    assert check_number(" 1m8gd-m9axk – p042788 ").cleaned == "1M8GDM9AXKP042788"
    assert check_number("1m8 gdm9axkp042788").passes is True


def test_a_pass_says_what_it_does_not_mean() -> None:
    words = " ".join(check_number("1M8GDM9AXKP042788").words)
    assert "North America" in words and "genuine" in words


def test_papers_that_name_another_year_are_pointed_out() -> None:
    assert any("look again" in sentence for sentence in check_number("1M8GDM9AXKP042788", model_year=1992).words)
    assert not any("look again" in sentence for sentence in check_number("1M8GDM9AXKP042788", model_year=1989).words)
    assert any("hint only" in sentence for sentence in check_number("1M8GDM9AXKP042788", model_year=1974).words)


def test_a_character_that_cannot_be_read_leaves_no_verdict() -> None:
    report = check_number("1M8GDM9AXKP0?2788")
    assert report.passes is None and report.expected is None and "13" in report.words[0]


@pytest.mark.parametrize("text", ["", "  - ", "X" * 41])
def test_nothing_to_read_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="number"):
        check_number(text)


@pytest.mark.parametrize("number", ["123", "1M8GDM9AXKPO42788"])
def test_no_check_digit_without_seventeen_known_characters(number: str) -> None:
    with pytest.raises(BadInput):
        check_digit(number)
