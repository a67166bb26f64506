"""Makes small pictures of what without_rust.csv and more_pictures.csv list: python gather.py PACKAGES OUT

PACKAGES/NAME holds the unpacked package NAME (dpkg -x, unzip); "archive.zip:inside" names a file in an archive of it.
OUT/clean: whole pictures without rust, OUT/ground: surfaces without rust (soil, grass, bark, wood, brick, stone, street),
OUT/rusty: rusted sheet without paint, OUT/things: cut-outs without rust (fur, feathers, fruit, leaves, trees, tires), each with
its outline, NAME.png beside NAME.jpg. Numbered as they are listed.
"""

from __future__ import annotations

import argparse
import csv
import zipfile
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

SIDES = {"clean": 720, "ground": 384, "rusty": 512, "things": 208}


def raw(packages: Path, package: str, file: str) -> NDArray[np.uint8]:
    """The pixels of one listed file; FileNotFoundError names what is missing."""
    outer, _, inner = file.partition(":")
    path = packages / package / outer.lstrip("/")
    if not path.is_file():
        raise FileNotFoundError(f"{path} is missing; unpack the package {package} there")
    data = zipfile.ZipFile(path).read(inner) if inner else path.read_bytes()
    return cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)


def small(image: NDArray[np.uint8], side: int) -> NDArray[np.uint8]:
    """The picture in eight bits, its long side at most `side`."""
    if image.dtype == np.uint16:
        image = (image / 257).astype(np.uint8)
    if image.ndim == 2:
        image = cv2.cvtColor(image, cv2.COLOR_GRAY2BGR)
    zoom = side / max(image.shape[:2])
    return image if zoom >= 1 else cv2.resize(image, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA)


def cut_out(image: NDArray[np.uint8], side: int) -> tuple[NDArray[np.uint8], NDArray[np.uint8]] | None:
    """The thing on a square of its own mean colour, and its outline; None where the file has no outline."""
    if image.ndim < 3 or image.shape[2] < 4 or image[..., 3].min() > 0:
        return None
    solid = image[..., 3].astype(np.float32) / np.iinfo(image.dtype).max
    rows, columns = np.flatnonzero(solid.max(1) > 0.5), np.flatnonzero(solid.max(0) > 0.5)
    if len(rows) < 24 or len(columns) < 24:
        return None
    image = small(image[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1], side)
    share = image[..., 3:].astype(np.float32) / 255
    mean = (image[..., :3] * share).sum((0, 1)) / share.sum()
    colours = image[..., :3] * share + mean * (1 - share)
    high, wide = image.shape[:2]
    rest = ((side - high) // 2, side - high - (side - high) // 2, (side - wide) // 2, side - wide - (side - wide) // 2)
    square = cv2.copyMakeBorder(colours.round().astype(np.uint8), *rest, cv2.BORDER_CONSTANT, value=mean.tolist())
    return square, cv2.copyMakeBorder(image[..., 3], *rest, cv2.BORDER_CONSTANT, value=0)


def gather(listed: Path, packages: Path, out: Path) -> None:
    """Write the pictures of one list, numbered as they are listed."""
    with listed.open(newline="") as lines:
        for k, row in enumerate(csv.DictReader(lines)):
            use = row.get("use", "clean")
            folder = out / use
            folder.mkdir(parents=True, exist_ok=True)
            image, side = raw(packages, row["package"], row["file"]), SIDES[use]
            if use != "things":
                cv2.imwrite(str(folder / f"{k:03d}.jpg"), small(image, side)[..., :3], [cv2.IMWRITE_JPEG_QUALITY, 82])
                continue
            found = cut_out(image, side)
            if found is None:
                print(f"{row['file']} has no outline and is left out")
                continue
            cv2.imwrite(str(folder / f"{k:03d}.jpg"), found[0], [cv2.IMWRITE_JPEG_QUALITY, 85])
            cv2.imwrite(str(folder / f"{k:03d}.png"), found[1], [cv2.IMWRITE_PNG_COMPRESSION, 9])


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("packages", type=Path)
    parser.add_argument("out", type=Path)
    given = parser.parse_args()
    for name in ("without_rust.csv", "more_pictures.csv"):
        gather(Path(__file__).parent / name, given.packages, given.out)
