"""Reading a stamped or printed vehicle number: candidates with probabilities and the crop, for a person to choose from.

Nothing is filled in: even a likely candidate is only shown. Limits and measured rates: docs/measuring.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.picture.spelling import (
    LONGEST,
    SHORTEST,
    Floats,
    believed,
    blurred,
    columns,
    log_scores,
    neighbours,
    passing,
    spellings,
)
from weldworth.tables import Tables, load_tables
from weldworth.vehicle.number import LENGTH

Region = tuple[int, int, int, int]
Pixels = npt.NDArray[np.uint8]
_SEEK = 736  # longest side in pixels at which text is looked for
_TALL = 48  # pixels: height of a line that the reader wants
_LINES = 6  # lines of text looked at
_TEXTS = 30  # candidates scored
_TERMS = ("checked", "letter_in_serial", "year_unused", "confused", "any_other", "sharpness", "other")


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
    found = _best_line(part)
    if found is None:
        raise BadInput([Problem("plate", _NOTHING if region is None else _NOTHING_MARKED)])
    corners, crop, first = found
    frames = [first, *(_frames(view) for view in _views(crop))]
    candidates, other, rescued, all_scored = _weighed(frames, terms, most)
    if not candidates:
        raise BadInput([Problem("plate", _NOTHING_MARKED)])
    box = tuple((float(x + left), float(y + top)) for x, y in corners)
    best = candidates[0].text
    same = {text: chance for text, chance in all_scored.items() if len(text) == len(best)}
    marginal = tuple(
        (char, sum(chance for text, chance in same.items() if text[place] == char)) for place, char in enumerate(best)
    )
    return PlateReading(candidates, other, box, crop, marginal, rescued, _remarks(candidates, rescued))


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


@lru_cache(maxsize=1)
def _reader() -> tuple[Any, Any, Floats]:
    """The text detector, the recogniser's session and its columns; models come with the library, nothing is fetched."""
    from rapidocr import RapidOCR

    engine = RapidOCR(
        params={
            "Det.limit_type": "max",
            "Det.limit_side_len": _SEEK,
            "Det.box_thresh": 0.3,
            "Global.log_level": "critical",
            "EngineConfig.onnxruntime.intra_op_num_threads": 1,
            "EngineConfig.onnxruntime.inter_op_num_threads": 1,
        }
    )
    blank = np.full((96, 320, 3), 255, np.uint8)
    cv2.putText(blank, "A1", (40, 70), cv2.FONT_HERSHEY_SIMPLEX, 2, (0, 0, 0), 4)
    engine(blank, use_det=True, use_cls=False, use_rec=True)
    recogniser: Any = engine.text_rec
    return engine.text_det, recogniser.session, columns(recogniser.postprocess_op.character)


def _best_line(part: Pixels) -> tuple[Floats, Pixels, Floats] | None:
    """Corners, upright crop and frames of the line likeliest to be a number; None where nothing is."""
    best: tuple[Floats, Pixels, Floats] | None = None
    best_worth = 0.0
    for corners in _lines(part):
        for turned in (corners, np.roll(corners, -2, axis=0)):
            crop = _upright(part, turned)
            frames = _frames(crop)
            worth = _like_a_number(frames)
            if worth > best_worth:
                best, best_worth = (turned, crop, frames), worth
    return best


def _lines(part: Pixels) -> Iterator[Floats]:
    """Corners (4, 2) of lines of text, longest first, with boxes of one line joined; the whole part where it is long itself."""
    grown = min(3.0, max(1.0, 0.75 * _SEEK / max(part.shape[:2])))
    seen = part if grown == 1 else cv2.resize(part, None, fx=grown, fy=grown, interpolation=cv2.INTER_CUBIC)
    result = _reader()[0](cv2.cvtColor(seen, cv2.COLOR_RGB2BGR))
    boxes = np.empty((0, 4, 2)) if result.boxes is None else np.asarray(result.boxes, dtype=np.float64) / grown
    lines = [_along(box) for box in boxes]
    lines += [
        joined for one in range(len(lines)) for other in range(one) if (joined := _joined(lines[one], lines[other])) is not None
    ]
    lines.sort(key=lambda line: -float(np.hypot(*(line[1] - line[0]))))
    yield from lines[:_LINES]
    height, width = part.shape[:2]
    if not lines and max(width, height) >= 3 * min(width, height):
        yield _along(np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64))


def _along(box: Floats) -> Floats:
    """The box begun so that its first side is a long one."""
    first, second = np.hypot(*(box[1] - box[0])), np.hypot(*(box[2] - box[1]))
    return box if first >= second else np.roll(box, -1, axis=0)


def _joined(one: Floats, other: Floats) -> Floats | None:
    """One box around two that stand in one line with a gap of under two heights, or None."""
    tall = np.hypot(*(one[3] - one[0])), np.hypot(*(other[3] - other[0]))
    run = (one[1] - one[0]) / np.hypot(*(one[1] - one[0]))
    apart = other.mean(axis=0) - one.mean(axis=0)
    off = abs(apart[0] * -run[1] + apart[1] * run[0])
    gap = abs(apart @ run) - (np.hypot(*(one[1] - one[0])) + np.hypot(*(other[1] - other[0]))) / 2
    if not 0.5 < tall[0] / tall[1] < 2 or off > 0.5 * min(tall) or gap > 2 * max(tall):
        return None
    return _along(cv2.boxPoints(cv2.minAreaRect(np.vstack([one, other]).astype(np.float32))).astype(np.float64))


def _upright(part: Pixels, corners: Floats, pad: float = 0.06) -> Pixels:
    """The line cut out and laid level, a little wider than its box."""
    across, down = corners[1] - corners[0], corners[3] - corners[0]
    wide, tall = float(np.hypot(*across)), max(float(np.hypot(*down)), 4.0)
    unit = across / max(wide, 1e-6) * tall * 2 * pad
    fall = down * pad
    grown = corners + np.array([-unit - fall, unit - fall, unit + fall, -unit + fall])
    size = (max(16, round((wide + 4 * pad * tall) * max(1.0, _TALL / tall))), max(_TALL, round(tall * (1 + 2 * pad))))
    target = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], np.float32)
    carried = cv2.getPerspectiveTransform(grown.astype(np.float32), target)
    return np.asarray(
        cv2.warpPerspective(part, carried, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE), dtype=np.uint8
    )


def _views(crop: Pixels) -> Iterator[Pixels]:
    """The line seen otherwise: softened, as strokes dark on light, locally evened, stretched, cut higher and lower."""
    tall = crop.shape[0]
    yield _soft(crop, 0.025)
    yield _soft(crop, 0.05)
    yield _strokes(crop)
    lab = cv2.cvtColor(crop, cv2.COLOR_RGB2LAB)
    lab[..., 0] = cv2.createCLAHE(2.0, (2, 8)).apply(lab[..., 0])
    yield np.asarray(cv2.cvtColor(lab, cv2.COLOR_LAB2RGB), dtype=np.uint8)
    yield np.asarray(cv2.resize(crop, None, fx=1.25, fy=1.0, interpolation=cv2.INTER_CUBIC), dtype=np.uint8)
    rim = max(1, round(0.09 * tall))
    yield np.asarray(cv2.copyMakeBorder(crop, rim, rim, rim, rim, cv2.BORDER_REPLICATE), dtype=np.uint8)


def _soft(crop: Pixels, share: float) -> Pixels:
    return np.asarray(cv2.GaussianBlur(crop, (0, 0), share * crop.shape[0]), dtype=np.uint8)


def _strokes(crop: Pixels) -> Pixels:
    """Dark where brightness changes: the light and the dark flank of stamped strokes and pricked dots run together."""
    grey = cv2.GaussianBlur(cv2.cvtColor(crop, cv2.COLOR_RGB2GRAY).astype(np.float32), (0, 0), max(0.6, 0.012 * crop.shape[0]))
    change = np.hypot(cv2.Sobel(grey, cv2.CV_32F, 1, 0), cv2.Sobel(grey, cv2.CV_32F, 0, 1))
    change = cv2.GaussianBlur(change.astype(np.float32), (0, 0), 0.02 * crop.shape[0])
    dark = 255 - (change / max(float(np.percentile(change, 99)), 1e-6) * 230).clip(0, 255)
    return np.repeat(dark.astype(np.uint8)[..., None], 3, axis=2)


def _frames(line: Pixels) -> Floats:
    """Probabilities (t, 1 + alphabet) of a line: red, green, blue in 0..255 brought to -1..1, blue first, 48 pixels high."""
    _, session, sorted_into = _reader()
    width = int(np.clip(np.ceil(_TALL * line.shape[1] / line.shape[0]), 32, 1600))
    small = cv2.resize(line[..., ::-1], (width, _TALL)).astype(np.float32)
    padded = np.zeros((1, 3, _TALL, max(width, 320)), np.float32)
    padded[0, :, :, :width] = small.transpose(2, 0, 1) / 127.5 - 1
    return np.asarray(session(padded)[0].astype(np.float64) @ sorted_into, dtype=np.float64)


def _like_a_number(frames: Floats) -> float:
    """How much a line looks like a vehicle's number: sure characters, best from 11 to 17 of them."""
    best = frames.argmax(axis=1)
    fresh = (best > 0) & (np.concatenate([[0], best[:-1]]) != best)
    count = int(fresh.sum())
    if not 3 <= count <= 22:
        return 0.0
    sure = float(frames[fresh, best[fresh]].mean())
    fits = 1.0 if 11 <= count <= LONGEST else 0.6 if count >= SHORTEST else 0.3
    return sure**2 * fits * min(count, LONGEST)


def _weighed(
    frames: list[Floats], terms: dict[str, float], most: int
) -> tuple[tuple[Candidate, ...], float, bool, dict[str, float]]:
    """Candidates of all views together, the chance of none of them, whether the check digit changed the first, all chances."""
    soft = [blurred(view, terms) for view in frames]
    texts: dict[str, None] = {}
    for view in soft:
        texts |= dict.fromkeys(text for text in spellings(view)[:_TEXTS] if SHORTEST <= len(text) <= LONGEST)
    full = [text for text in texts if len(text) == LENGTH][:8]
    texts |= dict.fromkeys(neighbours(full))
    if not texts:
        return (), 1.0, False, {}
    listed = list(texts)
    scores = np.array([log_scores(view, listed) for view in soft])
    seen = terms["sharpness"] * (logsumexp(scores, axis=0) - np.log(len(soft)))
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


def _remarks(candidates: tuple[Candidate, ...], rescued: bool) -> tuple[Remark, ...]:
    first = candidates[0]
    said = [Remark("suggestion", "plate", "A suggestion: compare every character with the picture before it is used.")]
    if first.check == "wrong":
        said.append(
            Remark("check-digit-wrong", "plate", f"{first.text} has a wrong check digit: misread, or not made for North America.")
        )
    if first.check == "none":
        said.append(Remark("no-check-digit", "plate", f"{len(first.text)} characters: no check digit can confirm the reading."))
    if rescued:
        said.append(Remark("check-digit-used", "plate", f"{first.text} comes first because its check digit is right."))
    if first.probability < 0.5:
        said.append(Remark("unsure", "plate", "No candidate is likelier than not; take it again with the lamp held to one side."))
    return tuple(said)
