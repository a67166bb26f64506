"""What each label of a solid model is made of before anything happened to it: colour, sheen, and the pressings of its sheet."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from engine.solid import Label, Sheet
from numpy.typing import NDArray

Colour = tuple[float, float, float]
CLEAR, LENS = 1.0, 0.5


@dataclass(frozen=True)
class Paint:
    """The colours of one vehicle, sRGB 0..1. body: skin; under: floors and insides; chassis: frame; roof, trim, seat."""

    body: Colour
    under: Colour
    chassis: Colour = (0.055, 0.055, 0.055)
    roof: Colour | None = None
    trim: Colour = (0.72, 0.72, 0.70)
    seat: Colour = (0.13, 0.11, 0.10)
    gloss: float = 0.28


@dataclass(frozen=True)
class Finish:
    """colour: sRGB; rough, metal: 0..1; glass: 0 none, LENS a lamp's glass, CLEAR a window."""

    colour: Colour
    rough: float
    metal: float = 0.0
    glass: float = 0.0


IRON = ("running", "drum", "iron", "lever", "pedal", "exhaust", "spring", "torque", "anchor")
CHASSIS = ("frame", "iron", "torque", "brace", "hat", "outrigger", "railin", "mount", "bedcross", "radsupport", "tank")
BELOW = ("floorunder", "sillunder", "rockerunder", "bedunder", "houseunder", "deckunder", "bootunder", "dropunder", "tunnelunder")


def finish(label: Label, part: str, paint: Paint) -> Finish:
    """The finish of a label on a sheet of a part."""
    panel = label.panel.partition(".")[0]
    if label.kind == "glass":
        if panel.startswith(("plate", "dash")):
            return Finish((0.78, 0.76, 0.70), 0.5)
        if panel.startswith(("tail", "rearlamp", "stop")):
            return Finish((0.36, 0.015, 0.012), 0.12, 0, LENS)
        if panel.startswith(("park", "turn", "side")):
            return Finish((0.75, 0.33, 0.05), 0.15, 0, LENS)
        if panel.startswith(("lamp", "bezel", "head")):
            return Finish((0.75, 0.77, 0.78), 0.06, 0.5, LENS)
        return Finish((0.05, 0.06, 0.06), 0.03, 0, CLEAR)
    if label.kind == "tyre":
        return Finish((0.035, 0.034, 0.033), 0.85)
    if label.kind in ("well", "seal"):
        return Finish((0.018, 0.017, 0.016), 0.9)
    if label.kind == "bright" or panel.startswith(("bezel", "handle", "lock", "mirror")):
        return Finish((0.80, 0.80, 0.79), 0.16, 1.0)
    if label.kind == "soft":
        if part.startswith("seat"):
            return Finish(paint.seat, 0.55)
        return Finish((0.62, 0.62, 0.61), 0.3, 0.9) if part.startswith("bumper") else Finish(paint.trim, 0.45)
    if part.startswith("rubber"):
        return Finish((0.03, 0.03, 0.03), 0.8)
    if part.startswith("engine"):
        return Finish((0.16, 0.20, 0.22), 0.5, 0.2)
    if part.startswith(IRON):
        return Finish((0.10, 0.085, 0.075), 0.7, 0.25)
    if part.startswith("battery") and label.zone is None:
        return Finish((0.025, 0.025, 0.027), 0.45)
    if part.startswith(("wiper", "steer", "rollbar")) or (label.kind == "part" and part.startswith("seat")):
        return Finish((0.03, 0.03, 0.03), 0.4)
    if part.startswith(CHASSIS):
        return Finish(paint.chassis, 0.42)
    if part.startswith(BELOW):
        return Finish(paint.under, 0.6)
    if part.startswith(("floor", "firewall", "seatcm", "drop", "bootfloor", "bedfloor", "apron", "house", "inner", "pocket")):
        return Finish(paint.under, 0.5)
    if part.startswith("roof") and paint.roof:
        return Finish(paint.roof, paint.gloss)
    if label.kind == "part":
        return Finish((0.30, 0.30, 0.29), 0.4, 0.6)
    return Finish(paint.body, paint.gloss)


def linear(colour: Colour) -> Colour:
    """sRGB to linear light (IEC 61966-2-1)."""
    c = np.asarray(colour, float)
    return tuple(np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4).tolist())


def texture(sheet: Sheet, labels: list[Label | None], paint: Paint, coarse: int = 2) -> tuple[NDArray[np.float32], ...]:
    """Two pictures (h, w, 4) of a painted sheet, `coarse` texels a pixel, first row at the smallest v.

    One: colour in linear light, and whether anything is there. Two: height in mm (gaps between panels, pressings) as
    0.5 + mm / 40, roughness, metal, glass.
    """
    paints = sheet.paint
    numbers = np.unique(paints)
    table = np.zeros((len(labels), 8), np.float32)
    base = np.zeros(len(labels), np.int32)
    names: dict[str, int] = {}
    for n in numbers:
        label = labels[n]
        if label is not None:
            f = finish(label, sheet.part, paint)
            table[n] = [*linear(f.colour), 1.0, 0.0, f.rough, f.metal, f.glass]
            table[n, 4] = 4.0 if "/" in label.panel and label.kind == "body" else 0.0
            base[n] = names.setdefault(label.panel.partition("/")[0], len(names) + 1)
    full = table[paints]
    gone = full[..., 3] < 0.5
    if (paints == 0).any() and (paints > 0).any():
        near = cv2.dilate(full[..., :3], np.ones((9, 9)))
        full[..., :3] = np.where(gone[..., None], near, full[..., :3])
    panel = base[paints].astype(np.float32)
    edge = (cv2.dilate(panel, np.ones((3, 3))) != cv2.erode(panel, np.ones((3, 3)))) & (paints > 0)
    edge &= cv2.erode((paints > 0).astype(np.uint8), np.ones((5, 5))).astype(bool)
    groove = cv2.GaussianBlur(cv2.dilate(edge.astype(np.float32), np.ones((5, 5))), (0, 0), 1.6)
    height = cv2.GaussianBlur(full[..., 4], (0, 0), 7) - 8 * groove
    full[..., :3] *= (1 - 0.9 * np.clip(groove, 0, 1))[..., None]
    full[..., 4] = np.clip(0.5 + height / 40, 0, 1)
    small = (max(1, full.shape[1] // coarse), max(1, full.shape[0] // coarse))
    shrunk = np.stack([cv2.resize(full[..., k], small, interpolation=cv2.INTER_AREA) for k in range(8)], -1)
    return np.ascontiguousarray(shrunk[..., :4]), np.ascontiguousarray(shrunk[..., 4:])
