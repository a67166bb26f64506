"""The vehicle's number: what the published rules let one say about it, and nothing more.

49 CFR 565: 17 characters from model year 1981 on, check digit in position 9, model year in position 10. Before that every maker
had a form of its own. The check digit is asked for only of vehicles made for North America.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from weldworth.core.errors import BadInput, Problem

LENGTH = 17
FIRST_YEAR = 1981
"""First model year for which 17 characters are required."""

VALUES = {str(digit): digit for digit in range(10)} | dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9), strict=True)
)
"""Value of each character in the check sum, 49 CFR 565.15(c). I, O and Q are never used."""

WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
"""Weight of each position in the check sum, 49 CFR 565.15(c)."""

YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
"""Position 10: A is 1980 and 2010, and so on every 30 years; I, O, Q, U, Z and 0 are not used."""

SERIAL_FROM = 14
"""From this position on only digits are used, 49 CFR 565.15(d)."""

EXCLUDED = {"I": "1", "O": "0", "Q": "0"}
"""Letters that are never used, and what they usually were."""

MISREAD = (
    "1I",
    "0O",
    "0Q",
    "5S",
    "8B",
    "2Z",
    "6G",
    "0D",
    "UV",
    "17",
    "1L",
    "4A",
    "1T",
    "7T",
    "38",
    "MN",
    "EF",
    "CG",
    "KX",
    "PR",
    "VY",
)
"""Pairs that are taken for each other on stamped metal, commonest first (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Misread:
    """One character that may have been read wrongly.

    position : from 1. read, likely : the character as given and what it may be. number : the whole number so corrected.
    passes : whether that has a right check digit.
    """

    position: int
    read: str
    likely: str
    number: str
    passes: bool


@dataclass(frozen=True, slots=True)
class NumberReport:
    """What the rules say about a number as read.

    form : "17-character" or "maker's own". expected, found : check digits, None where there is none to speak of.
    passes : whether they agree, None for no verdict. years : every model year that position 10 allows.
    year : the one of them that position 7 points to, for cars and light trucks, or None.
    excluded : (position from 1, letter) of letters that are never used. misreads : likeliest first. words : sentences to show.
    """

    as_given: str
    cleaned: str
    form: str
    expected: str | None
    found: str | None
    passes: bool | None
    years: tuple[int, ...]
    year: int | None
    excluded: tuple[tuple[int, str], ...]
    misreads: tuple[Misread, ...]
    words: tuple[str, ...]


def check_digit(number: str) -> str:
    """The check digit that position 9 of a 17-character number should hold: sum of value times weight, mod 11, 10 written X.

    >>> check_digit("1M8GDM9A_KP042788")
    'X'

    49 CFR 565.15(c). What stands in position 9 does not matter. Raises BadInput for another length or a strange character.
    """
    if len(number) != LENGTH:
        raise BadInput(f"number {number!r} has {len(number)} characters; a check digit needs {LENGTH}")
    strange = [char for place, char in enumerate(number, start=1) if place != 9 and char not in VALUES]
    if strange:
        raise BadInput(f"number {number!r} has {', '.join(map(repr, strange))}, which the rule gives no value")
    rest = sum(VALUES.get(char, 0) * weight for char, weight in zip(number, WEIGHTS, strict=True)) % 11
    return "X" if rest == 10 else str(rest)


def model_years(number: str) -> tuple[tuple[int, ...], int | None]:
    """(every model year 1980-2039 that position 10 allows, the one that position 7 points to or None).

    A digit in position 7 means 1980-2009, a letter 2010-2039. That holds for cars, vans and trucks up to 4,536 kg (10,000 lb),
    not for heavier ones, trailers and motorcycles.

    >>> model_years("1M8GDM9AXKP042788")
    ((1989, 2019), 1989)

    49 CFR 565.15(b) and (d).
    """
    code, seventh = number[9], number[6]
    if code not in YEAR_CODES:
        return (), None
    first = 1980 + YEAR_CODES.index(code)
    return (first, first + 30), first if seventh.isdigit() else first + 30


def check_number(text: str, *, model_year: int | None = None) -> NumberReport:
    """What can be said about a vehicle's number, from the published rules alone.

    text : as read; spaces and dashes do not count, small letters are taken as capitals.   model_year : as in the papers.
    A number of another length is the maker's own form and gets no verdict. Raises BadInput when nothing is left to read.
    """
    cleaned = re.sub(r"[\s\-\u2010-\u2015\u2212]+", "", text).upper()
    if not cleaned:
        raise BadInput([Problem("number", f"{text!r} holds no characters; give the number as stamped, or leave it out")])
    if len(cleaned) > 40:
        raise BadInput([Problem("number", f"{cleaned[:12]}... has {len(cleaned)} characters; give one number, of 40 at most")])
    if len(cleaned) != LENGTH:
        return NumberReport(text, cleaned, "maker's own", None, None, None, (), None, (), (), _words_own(cleaned, model_year))
    excluded = tuple((place, char) for place, char in enumerate(cleaned, start=1) if char in EXCLUDED)
    unread = [place for place, char in enumerate(cleaned, start=1) if char not in VALUES and char not in EXCLUDED]
    years, year = model_years(cleaned)
    if unread:
        words = (
            f"Position {_listed(unread)} holds no letter or digit, so the check digit cannot be worked out.",
            *_words_limits(),
        )
        return NumberReport(text, cleaned, "17-character", None, cleaned[8], None, years, year, excluded, (), words)
    if excluded:
        repaired = "".join(EXCLUDED.get(char, char) for char in cleaned)
        expected, passes = check_digit(repaired), False
        misreads = _replaced(cleaned, excluded, repaired)
    else:
        expected = check_digit(cleaned)
        passes = expected == cleaned[8]
        misreads = () if passes else _misreads(cleaned)
    words = _words(cleaned, expected, passes, excluded, misreads, (years, year), model_year)
    return NumberReport(text, cleaned, "17-character", expected, cleaned[8], passes, years, year, excluded, misreads, words)


def _replaced(cleaned: str, excluded: tuple[tuple[int, str], ...], repaired: str) -> tuple[Misread, ...]:
    """The obvious replacement of every letter that is never used, all at once; then what may still be wrong beside it."""
    passes = check_digit(repaired) == repaired[8]
    plain = tuple(Misread(place, char, EXCLUDED[char], repaired, passes) for place, char in excluded)
    return plain if passes else plain + _misreads(repaired)


def _misreads(number: str) -> tuple[Misread, ...]:
    """Single exchanges of a pair of MISREAD that make the check digit right, commonest first, letters in the serial last."""
    found: list[tuple[int, Misread]] = []
    for place, char in enumerate(number, start=1):
        for rank, pair in enumerate(MISREAD):
            other = pair.replace(char, "", 1) if char in pair else ""
            if other not in VALUES or (place == 9 and other not in "0123456789X"):
                continue
            tried = number[: place - 1] + other + number[place:]
            if check_digit(tried) == tried[8]:
                last = len(MISREAD) if place >= SERIAL_FROM and not other.isdigit() else 0
                found.append((rank + last, Misread(place, char, other, tried, True)))
    return tuple(misread for _, misread in sorted(found, key=lambda item: (item[0], item[1].position)))


def _listed(places: list[int]) -> str:
    return ", ".join(str(place) for place in places)


def _words_own(cleaned: str, model_year: int | None) -> tuple[str, ...]:
    """What to say about a number of another length."""
    first = (
        f"{len(cleaned)} characters: the maker's own form, as usual before model year {FIRST_YEAR}; no rule here can check it."
    )
    if model_year is not None and model_year >= FIRST_YEAR:
        return (
            f"{len(cleaned)} characters, but vehicles of model year {FIRST_YEAR} on have {LENGTH}: "
            f"one may be missing, doubled or unreadable; ask for a picture of the plate. No verdict.",
        )
    return first, "Compare it with the stamping on the metal and with the title; a maker's register may know what it means."


def _words_limits() -> tuple[str, ...]:
    return (
        "The check digit is asked for only of vehicles made for North America; others may hold anything in position 9.",
        "It does not show that a number is genuine, belongs to this vehicle or is free of claims.",
    )


def _words(
    cleaned: str,
    expected: str,
    passes: bool,
    excluded: tuple[tuple[int, str], ...],
    misreads: tuple[Misread, ...],
    years: tuple[tuple[int, ...], int | None],
    model_year: int | None,
) -> tuple[str, ...]:
    """What to say about a number of 17 characters."""
    said = []
    for place, letter in excluded:
        said.append(f"Position {place} was read as {letter}, a letter that is never used; it is probably {EXCLUDED[letter]}.")
    if passes:
        said.append(
            f"The check digit in position 9 is {expected}, as it should be: the number was probably copied without a slip."
        )
    elif not excluded:
        told = f"The check digit in position 9 is {cleaned[8]} and should be {expected}"
        said.append(f"{told}: misread, copied wrongly, or not made for North America.")
    if excluded:
        said.append(f"With that the check digit is {'right' if misreads[0].passes else f'still wrong: it should be {expected}'}.")
    for misread in [m for m in misreads if m.passes and m.read not in EXCLUDED][:3]:
        said.append(f"Reading position {misread.position} as {misread.likely} instead of {misread.read} would make it right.")
    return (*said, *_words_year(cleaned, years, model_year), *_words_limits())


def _words_year(cleaned: str, years: tuple[tuple[int, ...], int | None], model_year: int | None) -> tuple[str, ...]:
    """What position 10 says of the model year, and whether the papers agree."""
    allowed, likely = years
    if not allowed or likely is None:
        return (f"Position 10 holds {cleaned[9]}, which stands for no model year in North America.",)
    if model_year is None or model_year in allowed:
        told = f"Position 10 ({cleaned[9]}) stands for model year {allowed[0]} or {allowed[1]}"
        return (f"{told}; position 7 points to {likely}, for cars, vans and trucks up to 10,000 lb (4,536 kg).",)
    if model_year < FIRST_YEAR:
        return (
            f"Model year {model_year} is older than the {LENGTH}-character rule ({FIRST_YEAR}); take the check as a hint only.",
        )
    return (
        f"Position 10 ({cleaned[9]}) stands for {allowed[0]} or {allowed[1]}, but model year {model_year} is given; look again.",
    )
