"""What has happened to the metal: signs put on zones or about places, as weights at the points of the sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from cast import Fine
from engine.solid import Body
from numpy.typing import NDArray

Floats = NDArray[np.float64]
SIGNS = ("rust", "bubbling", "coating", "stain", "hole", "scale", "dirt", "primer", "patch")


@dataclass(frozen=True)
class Ill:
    """One sign. zones: ids, or beginnings of ids; parts: beginnings of part names instead. amount: 0..1, about the share covered.

    at, reach: only within about `reach` mm of a place. low: mostly within this many mm of the zone's lowest points.
    seam: mostly within this many mm of a seam or edge of the sheet, where water stands.
    """

    sign: str
    amount: float
    zones: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    at: tuple[float, float, float] | None = None
    reach: float = 150.0
    low: float | None = None
    seam: float | None = None

    def __post_init__(self) -> None:
        if self.sign not in SIGNS:
            raise ValueError(f"{self.sign}: no such sign; there are {', '.join(SIGNS)}")


def _to_seam(one: Fine) -> Floats:
    """How far each point of the sheet is from where one label ends, mm (n,); far where the sheet has one label alone."""
    paint, per_mm = one.sheet.paint, one.sheet.per_mm
    if paint.size == 1:
        return np.full(len(one.uv), 60.0)
    rim = np.ones((3, 3), np.uint8)
    edge = cv2.dilate(paint.astype(np.float32), rim) != cv2.erode(paint.astype(np.float32), rim)
    away = cv2.distanceTransform((~np.pad(edge, 1, constant_values=True)).astype(np.uint8), cv2.DIST_L2, 3)[1:-1, 1:-1]
    at = ((one.uv - np.asarray(one.sheet.origin)) * per_mm + 0.5).astype(int)
    high, wide = paint.shape
    return away[np.clip(at[:, 1], 0, high - 1), np.clip(at[:, 0], 0, wide - 1)].astype(float) / per_mm


def weights(body: Body, sheets: Sequence[Fine], ills: Sequence[Ill]) -> list[Floats]:
    """Per sheet (points, signs) of 0..1, in the order of SIGNS. ValueError where an ill meets no metal at all."""
    zone_of = np.array([(label.zone or "") if label else "" for label in body.labels])
    painted = np.array([bool(label) and label.kind in ("body", "soft", "part") for label in body.labels])
    found = [np.zeros((len(one.places), len(SIGNS))) for one in sheets]
    for ill in ills:
        met = False
        inside = painted & np.array([bool(ill.zones) and z.startswith(ill.zones) if ill.zones else True for z in zone_of])
        hits = [inside[one.labels] & (one.labels > 0) & (not ill.parts or one.sheet.part.startswith(ill.parts)) for one in sheets]
        floor = min((one.places[hit, 2].min() for one, hit in zip(sheets, hits, strict=True) if hit.any()), default=0.0)
        for one, hit, out in zip(sheets, hits, found, strict=True):
            if not hit.any():
                continue
            share = np.full(len(one.places), ill.amount)
            if ill.at is not None:
                away = np.linalg.norm(one.places - np.asarray(ill.at), axis=1)
                share *= np.exp(-0.5 * (away / ill.reach) ** 2)
            if ill.low is not None:
                share *= np.exp(-np.maximum(0, one.places[:, 2] - floor) / ill.low)
            if ill.seam is not None:
                share *= np.exp(-_to_seam(one) / ill.seam)
            met |= bool((share[hit] > 0.02).any())
            column = SIGNS.index(ill.sign)
            out[:, column] = np.maximum(out[:, column], np.where(hit, share, 0))
        if not met:
            raise ValueError(f"{ill}: meets no metal; look at its zones, parts and place")
    return found
