"""A line of characters seen in several ways, so that a reader trained on print also reads stamped, pricked and painted ones."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
import numpy.typing as npt

Pixels = npt.NDArray[np.uint8]
Grey = npt.NDArray[np.float32]
_AROUND = 0.35  # of the line's height: the surroundings of a stroke
_NOISE = 2.0  # grey values of noise that are not stretched into strokes
_DOT = 0.03  # of the line's height: over so much the dots of one stroke run together and two strokes do not
_SEEN_DOT = 0.004  # of the longest side of a picture that is searched: a dot of a plate that fills most of it


def looks(crop: Pixels) -> Iterator[tuple[Pixels, int]]:
    """The line, uint8 (height, width, 3), and the pixels by which both its ends were let out: as strokes, as strokes in evened
    light, with its dots joined, locally evened, stretched, narrowed, with a wider rim."""
    tall = crop.shape[0]
    grey = _softened(crop, max(0.6, 0.012 * tall))
    yield _strokes(grey, 0.02 * tall, 0.99), 0
    yield _strokes(_evened(grey, _AROUND * tall), 0.02 * tall, 0.98), 0
    yield _joined_dots(crop, 0.01 * tall, _AROUND * tall, _DOT * tall, 0.98), 0
    lab = cv2.cvtColor(crop, cv2.COLOR_RGB2LAB)
    lab[..., 0] = cv2.createCLAHE(2.0, (2, 8)).apply(lab[..., 0])
    yield np.asarray(cv2.cvtColor(lab, cv2.COLOR_LAB2RGB), dtype=np.uint8), 0
    yield np.asarray(cv2.resize(crop, None, fx=1.25, fy=1.0, interpolation=cv2.INTER_CUBIC), dtype=np.uint8), 0
    yield np.asarray(cv2.resize(crop, None, fx=0.85, fy=1.0, interpolation=cv2.INTER_AREA), dtype=np.uint8), 0
    rim = max(1, round(0.09 * tall))
    yield np.asarray(cv2.copyMakeBorder(crop, rim, rim, rim, rim, cv2.BORDER_REPLICATE), dtype=np.uint8), rim


def with_joined_dots(part: Pixels) -> Pixels:
    """A picture in which text is looked for, with dots that form characters joined."""
    dot = _SEEN_DOT * max(part.shape[:2])
    return _joined_dots(part, max(1.0, dot / 4), 3 * dot, dot, 0.99)


def _strokes(grey: Grey, joined: float, brightest: float) -> Pixels:
    """Dark where brightness changes: the light and the dark flank of stamped strokes and pricked dots run together."""
    change = np.hypot(cv2.Sobel(grey, cv2.CV_32F, 1, 0), cv2.Sobel(grey, cv2.CV_32F, 0, 1)).astype(np.float32)
    return _drawn(np.asarray(cv2.GaussianBlur(change, (0, 0), joined), dtype=np.float32), brightest)


def _joined_dots(image: Pixels, noise: float, around: float, dot: float, brightest: float) -> Pixels:
    """Dark where brightness differs from its surroundings, whichever way; `dot` : pixels over which dots of one stroke join."""
    off = _evened(_softened(image, noise), around)
    return _drawn(np.asarray(np.sqrt(cv2.GaussianBlur(off * off, (0, 0), dot)), dtype=np.float32), brightest)


def _softened(image: Pixels, sigma: float) -> Grey:
    return np.asarray(cv2.GaussianBlur(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY).astype(np.float32), (0, 0), sigma))


def _evened(grey: Grey, around: float) -> Grey:
    """How far brightness is off the mean of so many pixels around, measured by what it is off there anyhow."""
    off = grey - cv2.GaussianBlur(grey, (0, 0), around)
    return np.asarray(off / (np.sqrt(cv2.GaussianBlur(off * off, (0, 0), around)) + _NOISE))


def _drawn(power: Grey, brightest: float) -> Pixels:
    """Dark on white, darkest from the value on that a share `brightest` of all pixels stays below."""
    dark = 255 - (power / max(float(np.quantile(power, brightest)), 1e-6) * 230).clip(0, 255)
    return np.repeat(dark.astype(np.uint8)[..., None], 3, axis=2)
