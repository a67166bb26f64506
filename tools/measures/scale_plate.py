"""Millimetres and plates on drawn pictures of which everything is known. Takes about ten minutes on one core."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

from measures.figure import Figure
from weldworth.core.errors import BadInput
from weldworth.picture.plate import read_plate
from weldworth.picture.spelling import passing

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tests" / "picture"))

FIRST_PICTURE = 20000  # seeds from here on were never looked at while the terms were set
SCENES = {"coin": 80, "card": 60, "marker-50": 40, "points": 40}
PLATES = 180


def measure() -> list[Figure]:
    return [*_scale(), *_plates()]


def _scale() -> list[Figure]:
    from covering import lengths_and_areas

    figures, every = [], []
    for kind, count in SCENES.items():
        found = [lengths_and_areas(FIRST_PICTURE + seed, kind) for seed in range(count)]
        measured = [pair for pairs in found if pairs is not None for pair in pairs]
        every += measured
        share = float(np.mean([low <= truth <= high for truth, low, _, high in measured]))
        width = float(np.median([(high - low) / value for _, low, value, high in measured]))
        told = f"{len(measured)} lengths and areas in {count - found.count(None)} of {count} pictures, the others refused"
        figures.append(
            _figure(f"measures of a drawn scene that cover the truth: {kind}", share, "at least 0.90", share >= 0.9, told)
        )
        figures.append(_figure(f"median width of the interval over its value: {kind}", width, "stated", True, told))
    share = float(np.mean([low <= truth <= high for truth, low, _, high in every]))
    figures.append(
        _figure("measures that cover the truth, all kinds", share, "at least 0.90", share >= 0.9, f"{len(every)} measures")
    )
    return figures


def _figure(name: str, value: float, target: str, met: bool, on: str) -> Figure:
    return Figure(name, round(value, 3), "", target, met, "drawn pictures, seeds not used in setting the terms", on)


def _plates() -> list[Figure]:
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
        rescued_right += reading.rescued and texts[0] == scene.text and passing(texts[0])
    on = f"{PLATES} plates of 13 and 17 characters, {PLATES // len(KINDS)} of each of {len(KINDS)} kinds"
    shares = {kind: np.mean([(hit, three) for k, hit, three in first if k == kind], axis=0) for kind in KINDS}
    kinds = "; ".join(f"{kind} {share[0]:.2f}/{share[1]:.2f}" for kind, share in shares.items())
    return [
        _figure("plates whose first candidate is the number", float(np.mean([hit for _, hit, _ in first])), "stated", True, on),
        _figure("plates whose number is among the first three", float(np.mean([hit for _, _, hit in first])), "stated", True, on),
        Figure("plates by kind, first / among three", kinds, "", "stated", True, "drawn plates", on),
        Figure(
            "readings changed by the check digit, and right after it",
            f"{rescued}, {rescued_right}",
            "",
            "stated",
            True,
            "drawn plates",
            on,
        ),
        _figure(
            "mean stated probability less share right",
            float(np.mean(stated) - np.mean(right)),
            "-0.05 to 0.05",
            abs(float(np.mean(stated) - np.mean(right))) <= 0.05,
            on,
        ),
        _figure("Brier score of the first candidate", float(np.mean((np.array(stated) - right) ** 2)), "stated", True, on),
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
