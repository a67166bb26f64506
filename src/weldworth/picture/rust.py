"""Rust in a picture: where it is, how much of it, how it would be graded, and which signs the picture suggests.

A small network (models/rust.onnx; how it came about and what it reaches: docs/rust-model.md) looks at the picture twice, once
whole and once smaller and mirrored; the two views are averaged, and what is surely rust teaches the colours of the rest. Its
word is a suggestion with a measured reliability; a person's word replaces it. A brown run below rust is staining, not rust (ASTM
D610, clause 4).
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
import onnxruntime as ort  # type: ignore[import-untyped]

from weldworth.core.errors import BadInput, Problem
from weldworth.picture.colours import by_colour
from weldworth.picture.grades import grades
from weldworth.picture.suggest import chances
from weldworth.tables import Tables, load_tables

Image = npt.NDArray[np.uint8]
Map = npt.NDArray[np.float32]
Region = tuple[int, int, int, int]

RUSTED = 0.5  # probability from which a pixel counts as rust
_MODELS = Path(__file__).parent / "models"
_VIEWS = ((544 * 408, False), (320 * 240, True))  # pixels seen, mirrored
_STEP = 32  # the network's sides are multiples of this
_LARGEST = 1.25  # a small picture is enlarged at most so much
_LEAST = 32  # pixels on the short side
_MARGIN = 0.25  # of a region's size, shown to the network around it
_ACCENT = (122, 35, 99)  # the one accent colour of the screens


@dataclass(frozen=True, slots=True)
class RustLook:
    """What the model says of a picture or a region of it.

    area_percent : share of the pixels that are rust. ri : ISO 4628-3, 0..5 in half steps. d610 : ASTM D610, 10..0.
    chance : probability that there is rust at all. signs : (sign, probability) of every sign likely enough to suggest, likeliest
    first. model : version of the model.
    """

    area_percent: float
    ri: float
    d610: int
    chance: float
    signs: tuple[tuple[str, float], ...]
    model: str


def rust_mask(image: Image) -> Map:
    """Probability of rust at each pixel.

    image : uint8 (M, N, 3), sRGB, red first, at least 32 pixels on the short side. Returns float32 (M, N) in 0..1.
    Raises BadInput for anything else.
    """
    _checked(image)
    high, wide = image.shape[:2]
    mask = cv2.resize(_maps(image)[0], (wide, high), interpolation=cv2.INTER_LINEAR)
    return np.asarray(mask, dtype=np.float32)


def look(image: Image, region: Region | None = None, *, tables: Tables | None = None) -> RustLook:
    """What the picture, or the region (left, top, right, bottom) of it in pixels, shows of rust.

    image : as for rust_mask. tables : where grades and suggestions are read from, the shipped ones where None.
    Raises BadInput when the picture cannot be used or the region is empty or not inside it.
    """
    _checked(image)
    tables = tables if tables is not None else load_tables()
    maps = _maps(image) if region is None else _region_maps(image, region)
    area = 100.0 * float((maps[0] > RUSTED).mean())
    found = grades(area, tables)
    rust, signs = chances(maps, tables)
    return RustLook(area, found.ri, found.d610, rust, signs, model_version())


def overlay(image: Image, mask: Map) -> Image:
    """The picture with rust outlined, tinted and hatched in the accent colour; a new array of the same shape.

    mask : probability (M, N), as rust_mask returns it. Raises BadInput when the two do not fit each other.
    """
    _checked(image)
    if mask.shape != image.shape[:2]:
        raise BadInput([Problem("mask", f"is {mask.shape}, the picture {image.shape[:2]}; give the mask of this picture")])
    rust = (mask > RUSTED).astype(np.uint8)
    line = max(1, round(max(rust.shape) / 500))
    down, across = np.arange(rust.shape[0])[:, None], np.arange(rust.shape[1])[None]
    hatch = (down + across) % (8 * line) < line
    weight = np.where(rust > 0, np.where(hatch, 0.65, 0.22), 0.0)[..., None]
    mixed = image * (1 - weight) + np.array(_ACCENT) * weight
    drawn = np.ascontiguousarray(np.rint(mixed), dtype=np.uint8)
    outlines, _ = cv2.findContours(rust, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
    cv2.drawContours(drawn, outlines, -1, (255, 255, 255), 3 * line)
    cv2.drawContours(drawn, outlines, -1, _ACCENT, 2 * line - line // 2)
    return drawn


@cache
def model_version() -> str:
    """The version in the model's card."""
    card = json.loads((_MODELS / "rust.json").read_text(encoding="utf-8"))
    return str(card["version"])


@cache
def _session() -> ort.InferenceSession:
    options = ort.SessionOptions()
    options.intra_op_num_threads = 1
    options.inter_op_num_threads = 1
    return ort.InferenceSession(str(_MODELS / "rust.onnx"), options, providers=["CPUExecutionProvider"])


def _checked(image: Image) -> None:
    if not isinstance(image, np.ndarray) or image.dtype != np.uint8 or image.ndim != 3 or image.shape[2] != 3:
        have = f"{image.dtype} {image.shape}" if isinstance(image, np.ndarray) else type(image).__name__
        raise BadInput([Problem("picture", f"is {have}; give uint8 pixels of shape (height, width, 3), red first")])
    if min(image.shape[:2]) < _LEAST:
        size = f"{image.shape[1]} x {image.shape[0]}"
        raise BadInput([Problem("picture", f"is {size} pixels; at least {_LEAST} on the short side are needed to see rust")])


def _maps(image: Image) -> Map:
    """The seven maps (7, m, n) in 0..1 at a quarter of the larger view, both views averaged, rust judged by its colours too."""
    total: Map | None = None
    for pixels, mirrored in _VIEWS:
        found = _seen(image, pixels, mirrored)
        if total is None:
            total = found
            continue
        size = (total.shape[2], total.shape[1])
        total = np.stack(
            [(a + cv2.resize(b, size, interpolation=cv2.INTER_LINEAR)) / 2 for a, b in zip(total, found, strict=True)]
        )
    assert total is not None
    total[0] = by_colour(image, total[0])
    return total


def _seen(image: Image, pixels: int, mirrored: bool) -> Map:
    """What the network makes of one view, (7, m, n)."""
    high, wide = image.shape[:2]
    scale = min(_LARGEST, math.sqrt(pixels / (high * wide)))
    size = tuple(max(_STEP, round(side * scale / _STEP) * _STEP) for side in (wide, high))
    small = cv2.resize(image, size, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR)
    if mirrored:
        small = small[:, ::-1]
    planes = np.ascontiguousarray(small.transpose(2, 0, 1)[None], dtype=np.float32)
    maps = np.asarray(_session().run(None, {"image": planes})[0][0], dtype=np.float32)
    return np.ascontiguousarray(maps[:, :, ::-1]) if mirrored else maps


def _region_maps(image: Image, region: Region) -> Map:
    """The maps of a region, seen with a margin around it and cut back to it."""
    left, top, right, bottom = region
    high, wide = image.shape[:2]
    if not (0 <= left < right <= wide and 0 <= top < bottom <= high):
        inside = f"0..{wide} across and 0..{high} down"
        raise BadInput(
            [Problem("region", f"{region} is empty or leaves the picture; give left, top, right, bottom within {inside}")]
        )
    side = max(right - left, bottom - top, _LEAST)
    x0, x1 = _widened(left, right, round(_MARGIN * side), wide)
    y0, y1 = _widened(top, bottom, round(_MARGIN * side), high)
    maps = _maps(image[y0:y1, x0:x1])
    down, across = maps.shape[1] / (y1 - y0), maps.shape[2] / (x1 - x0)
    first, start = math.floor((top - y0) * down), math.floor((left - x0) * across)
    last, end = math.ceil((bottom - y0) * down), math.ceil((right - x0) * across)
    return maps[:, first : max(last, first + 1), start : max(end, start + 1)]


def _widened(low: int, high: int, margin: int, limit: int) -> tuple[int, int]:
    """The stretch low..high with a margin on both sides, within 0..limit and at least as long as the network needs."""
    low, high = max(0, low - margin), min(limit, high + margin)
    if high - low < _LEAST:
        low = max(0, min(low, limit - _LEAST))
        high = min(limit, low + _LEAST)
    return low, high
