"""Numbers of plates on drawn pictures of which everything is known. Takes about four minutes on one core."""

from __future__ import annotations

import sys
import time
from itertools import pairwise
from pathlib import Path

import numpy as np

from measures.figure import Figure
from weldworth.core.errors import BadInput
from weldworth.picture.plate import read_plate

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tests" / "picture"))

FIRST_PICTURE = 20000  # seeds from here on were never looked at while the terms were set
PLATES = 180
BANDS = (0.0, 0.5, 0.75, 0.9, 0.97, 1.0)


def measure() -> list[Figure]:
    from plates import KINDS, plate

    read_plate(plate(0, "printed").image)
    first: list[tuple[str, bool, bool]] = []
    stated, right, spent, rescued, rescued_right = [], [], [], 0, 0
    for seed in range(FIRST_PICTURE, FIRST_PICTURE + PLATES):
        scene = plate(seed)
        began = time.process_time()
        try:
            reading = read_plate(scene.image)
        except BadInput:
            first.append((scene.kind, False, False))
            continue
        finally:
            spent.append(time.process_time() - began)
        texts = [candidate.text for candidate in reading.candidates]
        first.append((scene.kind, texts[0] == scene.text, scene.text in texts[:3]))
        stated.append(reading.candidates[0].probability)
        right.append(texts[0] == scene.text)
        rescued += reading.rescued
        rescued_right += reading.rescued and texts[0] == scene.text
    on = (
        f"{PLATES} plates of 13 and 17 characters, {PLATES // len(KINDS)} of each of {len(KINDS)} kinds; "
        f"{PLATES - len(stated)} not found"
    )
    shares = {kind: np.mean([(hit, three) for k, hit, three in first if k == kind], axis=0) for kind in KINDS}
    gap = float(np.mean(stated) - np.mean(right))
    return [
        _figure("plates whose first candidate is the number", float(np.mean([hit for _, hit, _ in first])), on),
        _figure("plates whose number is among the first three", float(np.mean([hit for _, _, hit in first])), on),
        _told("plates by kind, first / among three", "; ".join(f"{k} {s[0]:.2f}/{s[1]:.2f}" for k, s in shares.items()), on),
        _told("readings changed by the check digit, and right after it", f"{rescued}, {rescued_right}", on),
        _told("first candidates that are right, by stated probability", _by_band(np.array(stated), np.array(right)), on),
        _figure("mean stated probability less share right", gap, on, "-0.05 to 0.05", abs(gap) <= 0.05),
        _figure("Brier score of the first candidate", float(np.mean((np.array(stated) - right) ** 2)), on),
        Figure(
            "median processor seconds per plate",
            round(float(np.median(spent)), 2),
            "s",
            "at most 1",
            bool(np.median(spent) <= 1),
            "process time, one thread",
            on,
        ),
    ]


def _by_band(stated: np.ndarray, right: np.ndarray) -> str:
    """For each band how many readings, their mean stated probability and how many are right."""
    told = []
    for low, high in pairwise(BANDS):
        inside = (stated >= low) & ((stated < high) | (high == BANDS[-1]))
        if inside.any():
            told.append(f"{low:g} to {high:g}: stated {stated[inside].mean():.2f}, right {right[inside].sum()} of {inside.sum()}")
    return "; ".join(told)


def _figure(name: str, value: float, on: str, target: str = "stated", met: bool = True) -> Figure:
    return Figure(name, round(value, 3), "", target, met, "drawn pictures, seeds not used in setting the terms", on)


def _told(name: str, value: str, on: str) -> Figure:
    return Figure(name, value, "", "stated", True, "drawn plates", on)
