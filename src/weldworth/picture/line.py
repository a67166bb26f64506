"""Finding the line of characters of a plate, laying it level, and reading it into probabilities per strip."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import cv2
import numpy as np

from weldworth.picture.looks import Pixels, with_joined_dots
from weldworth.picture.spelling import LONGEST, SHORTEST, Floats, columns

PAD = 0.06  # of a line's height: what is cut out around it
_SEEK = 736  # longest side in pixels at which text is looked for
_TALL = 48  # pixels: height of a line that the reader wants
_LINES = 6  # lines of text looked at
_POOR = 4.0  # worth of a line below which dots are joined: that of five characters, each sure to 0.9


def best_line(part: Pixels) -> tuple[Floats, Pixels, Floats] | None:
    """Corners, upright crop and frames of the line likeliest to be a number; None where nothing is.

    Where next to nothing is found it is looked for once more with dots joined: a reader of print does not see pricked characters.
    """
    corners, worth = _likeliest(part)
    if worth < _POOR:
        joined, better = _likeliest(with_joined_dots(part))
        corners = joined if better > max(worth, _POOR) else corners
    if corners is None:
        return None
    crop = upright(part, corners)
    return corners, crop, frames_of(crop)


def _likeliest(part: Pixels) -> tuple[Floats | None, float]:
    """Corners of the line that looks most like a number, and how much it does."""
    best: Floats | None = None
    best_worth = 0.0
    for corners in _lines(part):
        for turned in (corners, np.roll(corners, -2, axis=0)):
            worth = _like_a_number(frames_of(upright(part, turned)))
            if worth > best_worth:
                best, best_worth = turned, worth
    return best, best_worth


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


def upright(part: Pixels, corners: Floats, pad: float = PAD) -> Pixels:
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


def frames_of(line: Pixels) -> Floats:
    """Probabilities (t, 1 + alphabet) of strips that share the line's width alike: red, green, blue in 0..255 brought to -1..1,
    blue first, 48 pixels high."""
    _, session, sorted_into = _reader()
    width = int(np.clip(np.ceil(_TALL * line.shape[1] / line.shape[0]), 32, 1600))
    small = cv2.resize(line[..., ::-1], (width, _TALL)).astype(np.float32)
    padded = np.zeros((1, 3, _TALL, max(width, 320)), np.float32)
    padded[0, :, :, :width] = small.transpose(2, 0, 1) / 127.5 - 1
    said = session(padded)[0].astype(np.float64) @ sorted_into
    return np.asarray(said[: int(np.ceil(len(said) * width / padded.shape[3]))], dtype=np.float64)


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
