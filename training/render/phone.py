"""What a phone makes of the light: exposure, white balance, a lens that is not perfect, noise, a curve, JPEG.

The generator's optics (../optics.py) spoil a batch at random; here one picture is taken as its story wants it.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Phone:
    """bright: stops over (or under) what the phone itself would choose. colour: how much stronger colours become, 1 as they were.

    blur, shake: pixels. noise: of the brightest, 0..1. warm: white balance, -1 blue to 1 yellow. corner: light lost in the
    corners, 0..1. crisp: sharpening.
    """

    bright: float = 0.0
    colour: float = 1.3
    blur: float = 0.0
    shake: float = 0.0
    noise: float = 0.008
    warm: float = 0.0
    corner: float = 0.18
    crisp: float = 0.5
    seed: int = 1


def developed(light: NDArray[np.float32], phone: Phone) -> NDArray[np.uint8]:
    """The picture (h, w, 3) uint8 of linear light (h, w, 3)."""
    rng = np.random.default_rng(phone.seed)
    high, wide = light.shape[:2]
    grey = light @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    y, x = np.mgrid[-1 : 1 : high * 1j, -1 : 1 : wide * 1j]
    heed = np.exp(-(x**2 + y**2) / 0.9)
    level = np.exp((np.log(grey + 1e-3) * heed).sum() / heed.sum())
    gain = np.clip(0.15 / level, 0.05, 40) * 2.0**phone.bright
    out = light * gain * (1 - phone.corner * (x**2 + y**2) / 2)[..., None]
    pale = out @ np.array([0.2126, 0.7152, 0.0722])
    out = np.maximum(pale[..., None] + (out - pale[..., None]) * phone.colour, 0)
    out = out * np.array([1 + 0.12 * phone.warm, 1.0, 1 - 0.16 * phone.warm])
    if phone.blur:
        out = cv2.GaussianBlur(out, (0, 0), phone.blur)
    if phone.shake:
        long = max(3, int(phone.shake))
        out = cv2.filter2D(out, -1, np.full((1, long), 1 / long))
    glow = cv2.GaussianBlur(np.maximum(out - 1, 0), (0, 0), max(high, wide) / 60)
    out = out + 0.06 * glow
    share = max(1.0, gain) ** 0.5 * phone.noise
    out = out + rng.normal(0, 1, out.shape) * share * np.sqrt(np.clip(out, 0.01, 1.5))
    out = np.clip(out, 0, None)
    out = np.clip(out, 0, None) ** 1.25
    out = 1.55 * out / (0.62 + out)  # a phone's curve: firm shadows, highlights that roll off
    out = np.where(out > 1, 1 + 0 * out, out)
    coded = np.where(out <= 0.0031308, out * 12.92, 1.055 * np.power(np.maximum(out, 1e-6), 1 / 2.4) - 0.055)
    if phone.crisp:
        coded = coded + phone.crisp * (coded - cv2.GaussianBlur(coded, (0, 0), 1.1))
    return (np.clip(coded, 0, 1) * 255).round().astype(np.uint8)
