"""Reading a stamped or printed vehicle number: candidates with probabilities and the crop, for a person to choose from.

Nothing is filled in: even a likely candidate is only shown. Limits and measured rates: docs/measuring.md.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.picture.glare import burnt, ends_burnt, let_out, opened
from weldworth.picture.line import PAD, best_line, frames_of, upright
from weldworth.picture.looks import Pixels, looks
from weldworth.picture.spelling import (
    LONGEST,
    SHORTEST,
    Floats,
    believed,
    blurred,
    completed,
    log_scores,
    neighbours,
    passing,
    spellings,
)
from weldworth.tables import Tables, load_tables
from weldworth.vehicle.number import LENGTH

Region = tuple[int, int, int, int]
_TEXTS = 30  # texts of one look that are scored
_WHOLE = 8  # texts of 17 characters whose neighbours are scored
_FILLED = 3  # of these, in which burnt places are filled in by the check digit
_TERMS = (
    *("checked", "letter_in_serial", "year_unused", "odd_length", "confused", "any_other", "unread", "unread_end"),
    *("sharpness", "other"),
)


@dataclass(frozen=True, slots=True)
class Candidate:
    """text : capital letters and digits. probability : that the plate says so, 0..1. check : "right", "wrong" or "none"."""

    text: str
    probability: float
    check: str


@dataclass(frozen=True, slots=True, eq=False)
class PlateReading:
    """What a plate may say; never more than a suggestion.

    candidates : likeliest first; their probabilities and `other`, that it is none of them, sum to 1. box : corners of the line
    in pixels of the picture, clockwise from the line's own top left. crop : the line, upright, uint8 (height, width, 3).
    characters : those of the first candidate, each with the probability that it stands there, by all candidates of its length.
    rescued : the check digit changed which candidate comes first.
    """

    candidates: tuple[Candidate, ...]
    other: float
    box: tuple[tuple[float, float], ...]
    crop: Pixels
    characters: tuple[tuple[str, float], ...]
    rescued: bool
    remarks: tuple[Remark, ...]


def read_plate(image: Pixels, region: Region | None = None, *, most: int = 5, tables: Tables | None = None) -> PlateReading:
    """Read the likeliest number in an upright picture, uint8 (height, width, 3), red first, in any of four turns or tilted.

    region : (left, top, right, bottom) in pixels around the plate; without it the whole picture is searched, and a plate smaller
    than a fifth of it may be missed. most : candidates given back. Raises BadInput where there is nothing like a number.
    """
    terms = _terms(load_tables() if tables is None else tables)
    left, top, right, bottom = _checked(image, region)
    part = np.ascontiguousarray(image[top:bottom, left:right])
    found = best_line(part)
    if found is None:
        raise BadInput([Problem("plate", _NOTHING if region is None else _NOTHING_MARKED)])
    corners, crop, first = _with_burnt_ends(part, *found)
    frames, open_places = _read(crop, first, terms)
    candidates, other, rescued, all_scored = _weighed(frames, open_places, terms, most)
    if not candidates:
        raise BadInput([Problem("plate", _NOTHING_MARKED)])
    box = tuple((float(x + left), float(y + top)) for x, y in corners)
    best = candidates[0].text
    same = {text: chance for text, chance in all_scored.items() if len(text) == len(best)}
    marginal = tuple(
        (char, sum(chance for text, chance in same.items() if text[place] == char)) for place, char in enumerate(best)
    )
    return PlateReading(candidates, other, box, crop, marginal, rescued, _remarks(candidates, rescued, len(open_places)))


_NOTHING = (
    "no number of 5 to 17 characters is found; mark the plate, or take it again straight on, "
    "filling the frame, lamp held to one side"
)
_NOTHING_MARKED = "no number of 5 to 17 characters can be read here; take it again straight on, in focus, lamp held to one side"


def _terms(tables: Tables) -> dict[str, float]:
    found = {row.text("name"): row.number("value") for row in tables.rows("plate_terms.csv", ("name", "value", "meaning"))}
    missing = [Problem("plate_terms.csv", f"{name!r} is missing") for name in _TERMS if name not in found]
    if missing:
        raise BadInput(missing)
    return found


def _checked(image: Pixels, region: Region | None) -> Region:
    if image.ndim != 3 or image.shape[2] != 3 or image.dtype != np.uint8 or min(image.shape[:2]) < 16:
        raise BadInput(
            [Problem("picture", f"shape {image.shape} of {image.dtype} cannot be read; give 8-bit colour of 16 pixels or more")]
        )
    height, width = image.shape[:2]
    left, top, right, bottom = (0, 0, width, height) if region is None else region
    if not (0 <= left < right <= width and 0 <= top < bottom <= height) or min(right - left, bottom - top) < 12:
        whole = f"picture of {width} x {height} pixels"
        raise BadInput(
            [Problem("region", f"{region} is not within the {whole}, or is under 12 pixels; give left, top, right, bottom")]
        )
    return left, top, right, bottom


def _with_burnt_ends(part: Pixels, corners: Floats, crop: Pixels, frames: Floats) -> tuple[Floats, Pixels, Floats]:
    """The line let out at the ends where glare reaches beyond it: what finds text stops there, what reads it may not."""
    wider = let_out(corners)
    first, last = ends_burnt(upright(part, wider), PAD)
    if not first and not last:
        return corners, crop, frames
    corners = np.where(np.array([[first], [last], [last], [first]]), wider, corners)
    crop = upright(part, corners)
    return corners, crop, frames_of(crop)


def _read(crop: Pixels, first: Floats, terms: dict[str, float]) -> tuple[list[Floats], tuple[int, ...]]:
    """Frames of the line as it is and in every other look, burnt-out characters left open, and the places of these in the text
    as most looks have them."""
    share = burnt(crop)
    frames, votes = [], Counter[tuple[int, ...]]()
    for said, rim in [(first, 0), *((frames_of(seen), rim) for seen, rim in looks(crop))]:
        mended, places = opened(said, np.pad(share, rim, mode="edge"), terms) if share.any() else (said, ())
        frames.append(blurred(mended, terms))
        votes[places] += 1
    return frames, votes.most_common(1)[0][0]


def _weighed(
    frames: list[Floats], open_places: tuple[int, ...], terms: dict[str, float], most: int
) -> tuple[tuple[Candidate, ...], float, bool, dict[str, float]]:
    """Candidates of all looks together, the chance of none of them, whether the check digit changed the first, all chances."""
    texts: dict[str, None] = {}
    for look in frames:
        texts |= dict.fromkeys(text for text in spellings(look)[:_TEXTS] if SHORTEST <= len(text) <= LONGEST)
    full = [text for text in texts if len(text) == LENGTH][:_WHOLE]
    texts |= dict.fromkeys(neighbours(full))
    texts |= dict.fromkeys(completed(full[:_FILLED], [place for place in open_places if place < LENGTH]))
    if not texts:
        return (), 1.0, False, {}
    listed = list(texts)
    scores = np.array([log_scores(look, listed) for look in frames])
    seen = terms["sharpness"] * (logsumexp(scores, axis=0) - np.log(len(frames)))
    held = np.array([believed(text, terms) for text in listed])
    weights = np.exp(np.append(seen + held, terms["other"]) - (seen + held).max())
    chances = weights / weights.sum()
    order = np.argsort(-chances[:-1])
    rescued = int(np.argmax(seen)) != int(order[0]) and passing(listed[order[0]])
    chosen = tuple(Candidate(listed[i], float(chances[i]), _check(listed[i])) for i in order[:most])
    other = 1.0 - sum(candidate.probability for candidate in chosen)
    return chosen, other, rescued, dict(zip(listed, map(float, chances[:-1]), strict=True))


def _check(text: str) -> str:
    return "none" if len(text) != LENGTH else "right" if passing(text) else "wrong"


def _remarks(candidates: tuple[Candidate, ...], rescued: bool, burnt_out: int) -> tuple[Remark, ...]:
    first = candidates[0]
    said = [Remark("suggestion", "plate", "A suggestion: compare every character with the picture before it is used.")]
    if first.check == "wrong":
        said.append(
            Remark("check-digit-wrong", "plate", f"{first.text} has a wrong check digit: misread, or not made for North America.")
        )
    if first.check == "none":
        said.append(Remark("no-check-digit", "plate", f"{len(first.text)} characters: no check digit can confirm the reading."))
    if burnt_out:
        many = "1 character is" if burnt_out == 1 else f"{burnt_out} characters are"
        said.append(
            Remark("burnt-out", "plate", f"{many} burnt out by glare and guessed from the rest; take it again, lamp to one side.")
        )
    if rescued:
        said.append(Remark("check-digit-used", "plate", f"{first.text} comes first because its check digit is right."))
    if first.probability < 0.5:
        said.append(Remark("unsure", "plate", "No candidate is likelier than not; take it again with the lamp held to one side."))
    return tuple(said)
