"""A line of characters seen in several ways, so that a reader trained on print also reads stamped, pricked and painted ones."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
import numpy.typing as npt

Pixels = npt.NDArray[np.uint8]
_DOT = 0.03  # of the line's height: over so much the dots of one stroke run together and two strokes do not
_SEEN_DOT = 0.004  # of the longest side of a picture that is searched: a dot of a plate that fills most of it


def looks(crop: Pixels) -> Iterator[tuple[Pixels, int]]:
    """The line, uint8 (height, width, 3), and the pixels by which both its ends were let out: softened, as strokes, with its dots
    joined, locally evened, stretched, with a wider rim."""
    tall = crop.shape[0]
    yield np.asarray(cv2.GaussianBlur(crop, (0, 0), 0.025 * tall), dtype=np.uint8), 0
    yield _strokes(crop), 0
    yield _joined_dots(crop, (0.01 * tall, 0.35 * tall, _DOT * tall), 0.98), 0
    lab = cv2.cvtColor(crop, cv2.COLOR_RGB2LAB)
    lab[..., 0] = cv2.createCLAHE(2.0, (2, 8)).apply(lab[..., 0])
    yield np.asarray(cv2.cvtColor(lab, cv2.COLOR_LAB2RGB), dtype=np.uint8), 0
    yield np.asarray(cv2.resize(crop, None, fx=1.25, fy=1.0, interpolation=cv2.INTER_CUBIC), dtype=np.uint8), 0
    rim = max(1, round(0.09 * tall))
    yield np.asarray(cv2.copyMakeBorder(crop, rim, rim, rim, rim, cv2.BORDER_REPLICATE), dtype=np.uint8), rim


def with_joined_dots(part: Pixels) -> Pixels:
    """A picture in which text is looked for, with dots that form characters joined."""
    dot = _SEEN_DOT * max(part.shape[:2])
    return _joined_dots(part, (max(1.0, dot / 4), 3 * dot, dot), 0.99)


def _strokes(crop: Pixels) -> Pixels:
    """Dark where brightness changes: the light and the dark flank of stamped strokes and pricked dots run together."""
    grey = cv2.GaussianBlur(cv2.cvtColor(crop, cv2.COLOR_RGB2GRAY).astype(np.float32), (0, 0), max(0.6, 0.012 * crop.shape[0]))
    change = np.hypot(cv2.Sobel(grey, cv2.CV_32F, 1, 0), cv2.Sobel(grey, cv2.CV_32F, 0, 1))
    change = cv2.GaussianBlur(change.astype(np.float32), (0, 0), 0.02 * crop.shape[0])
    dark = 255 - (change / max(float(np.percentile(change, 99)), 1e-6) * 230).clip(0, 255)
    return np.repeat(dark.astype(np.uint8)[..., None], 3, axis=2)


def _joined_dots(image: Pixels, sizes: tuple[float, float, float], brightest: float) -> Pixels:
    """Dark where brightness differs from its surroundings, whichever way, measured by what differs there anyhow.

    sizes : pixels over which noise, the surroundings and the dots of one stroke are averaged. brightest : share of pixels below
    the difference that is drawn black.
    """
    noise, around, dot = sizes
    grey = cv2.GaussianBlur(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY).astype(np.float32), (0, 0), noise)
    off = grey - cv2.GaussianBlur(grey, (0, 0), around)
    usual = np.sqrt(cv2.GaussianBlur(off * off, (0, 0), around)) + 2
    power = np.sqrt(cv2.GaussianBlur((off / usual) ** 2, (0, 0), dot))
    dark = 255 - (power / max(float(np.quantile(power, brightest)), 1e-6) * 230).clip(0, 255)
    return np.repeat(dark.astype(np.uint8)[..., None], 3, axis=2)
