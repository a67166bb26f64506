"""The small pictures that the tests carry: synthetic ones with exact masks, and windows of phone pictures.

Only CC0 textures and CC BY 4.0 phone pictures go in (docs/credits.md). python samples.py PACK OUT
"""

from __future__ import annotations

import argparse
from pathlib import Path

import cv2
import numpy as np
import torch

from data import bank, reals
from mixing import Bank
from optics import photograph
from synth import scene

PHONE = (1, 2, 12, 13, 24, 32, 36, 41)
SIDE = 320


def write(pack: Path, out: Path, count: int = 24) -> None:
    """Write rust_synthetic_NN.jpg with rust_synthetic_NN.png (0 not rust, 1 rust, 2 not judged), and rust_phone_NN.jpg."""
    torch.manual_seed(20)
    device = torch.device("cpu")
    phones = [item for item in reals(pack, device) if item.source == "phone-rust"]
    full = bank(pack, phones, device, seed=3)
    mixing = Bank(full.rust, full.patterns, full.plain, full.plain, full.ground[:0], full.things[:0])
    kept = 0
    while kept < count:
        picture, masks = scene(mixing, 4, SIDE)
        photo = photograph(picture, 0.5)
        for i in range(4):
            share = float((masks[i, 0] == 1).float().mean())
            if kept >= count or (0 < share < 0.01) or (share == 0 and kept % 6):
                continue
            image = (photo[i].permute(1, 2, 0).numpy() * 255).round().astype(np.uint8)
            cv2.imwrite(str(out / f"rust_synthetic_{kept:02d}.jpg"), image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 82])
            cv2.imwrite(str(out / f"rust_synthetic_{kept:02d}.png"), masks[i, 0].numpy().astype(np.uint8))
            kept += 1
    for item in phones:
        number = int(item.name.split("/")[1])
        if number in PHONE:
            image = (item.picture.permute(1, 2, 0).numpy() * 255).round().astype(np.uint8)
            small = cv2.resize(image, None, fx=0.62, fy=0.62, interpolation=cv2.INTER_AREA)
            cv2.imwrite(str(out / f"rust_phone_{number:02d}.jpg"), small[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 82])


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pack", type=Path)
    parser.add_argument("out", type=Path)
    given = parser.parse_args()
    write(given.pack, given.out)
