"""Packs the open pictures into one folder that a training run reads: pictures, label maps, textures, pictures without rust.

Label maps: 0 not rust, 1 rust, 2 not known. The label of a picture is our own (labels/); beside it the source's is kept as
NAME-source.png, its boxes turned into masks inside the box; what is left of the box is not known.
"""

from __future__ import annotations

import argparse
import json
import shutil
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

Map = NDArray[np.uint8]
LONG_SIDE = 720
# label maps of our own, drawn by eye: those of the sources leave rust out, take more in, or are boxes
LABELS = Path(__file__).parent / "labels"
POLYGON_MARGIN = 4


def polygon_map(mask: Map) -> Map:
    """The label map of a drawn mask: a band along its outline is not known."""
    label = (mask > 127).astype(np.uint8)
    size = 2 * POLYGON_MARGIN + 1
    edge = cv2.morphologyEx(label, cv2.MORPH_GRADIENT, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)))
    label[edge > 0] = 2
    return label


def box_map(image: NDArray[np.uint8], shapes: list[list[float]]) -> Map:
    """The label map of boxes (x, y, width, height) and polygons, all as shares of the picture."""
    high, wide = image.shape[:2]
    label = np.zeros((high, wide), np.uint8)
    for shape in shapes:
        drawn = np.zeros((high, wide), np.uint8)
        if len(shape) == 4:
            x, y, w, h = shape
            left, top = max(0, round((x - w / 2) * wide)), max(0, round((y - h / 2) * high))
            right, bottom = min(wide, round((x + w / 2) * wide)), min(high, round((y + h / 2) * high))
            if right - left < 6 or bottom - top < 6:
                continue
            pad_x, pad_y = (right - left) // 2 + 8, (bottom - top) // 2 + 8
            x0, y0, x1, y1 = max(0, left - pad_x), max(0, top - pad_y), min(wide, right + pad_x), min(high, bottom + pad_y)
            piece = np.ascontiguousarray(image[y0:y1, x0:x1])
            seeds = np.full(piece.shape[:2], cv2.GC_BGD, np.uint8)
            seeds[top - y0 : bottom - y0, left - x0 : right - x0] = cv2.GC_PR_FGD
            back, fore = np.zeros((1, 65)), np.zeros((1, 65))
            try:
                cv2.grabCut(piece, seeds, None, back, fore, 4, cv2.GC_INIT_WITH_MASK)
            except cv2.error:
                continue
            found = np.isin(seeds, (cv2.GC_FGD, cv2.GC_PR_FGD)).astype(np.uint8)
            found = cv2.morphologyEx(found, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
            box = np.zeros((high, wide), np.uint8)
            box[max(0, top - 6) : bottom + 6, max(0, left - 6) : right + 6] = 1
            drawn[y0:y1, x0:x1] = found
            drawn *= box
            label[(box == 1) & (label == 0)] = 2
        else:
            points = (np.array(shape).reshape(-1, 2) * [wide, high]).astype(np.int32)
            cv2.fillPoly(drawn, [points], 1)
        label[drawn == 1] = 1
    return label


def shapes_of(path: Path) -> list[list[float]]:
    """The boxes and polygons of one label file."""
    return [[float(v) for v in line.split()[1:]] for line in path.read_text().splitlines() if line.strip()]


def shrink(image: NDArray[np.uint8], long_side: int = LONG_SIDE) -> NDArray[np.uint8]:
    """The picture with its long side at most `long_side`."""
    scale = long_side / max(image.shape[:2])
    return image if scale >= 1 else cv2.resize(image, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)


def pack(data: Path, more: Path, rendered: Path | None, out: Path) -> None:
    """Write pictures, labels and the list of them under `out`."""
    for folder in ("real", "textures", "renders"):
        (out / folder).mkdir(parents=True, exist_ok=True)
    entries = []
    for source in ("rust-polygons", "phone-rust", "tower-boxes"):
        for number, path in enumerate(sorted((data / source / "images").iterdir())):
            image = shrink(cv2.imread(str(path)))
            name = f"{source}/{number}"
            if source == "rust-polygons":
                label = polygon_map(cv2.imread(str(data / source / "masks" / f"{path.stem}.png"), cv2.IMREAD_GRAYSCALE))
            else:
                label = box_map(image, shapes_of(data / source / "labels_yolo" / f"{path.stem}.txt"))
            label = cv2.resize(label, image.shape[1::-1], interpolation=cv2.INTER_NEAREST)
            file = name.replace("/", "_")
            cv2.imwrite(str(out / "real" / f"{file}-source.png"), label)
            label = np.asarray(Image.open(LABELS / f"{file}.png"))
            cv2.imwrite(str(out / "real" / f"{file}.jpg"), image, [cv2.IMWRITE_JPEG_QUALITY, 92])
            cv2.imwrite(str(out / "real" / f"{file}.png"), label)
            entries.append({"name": name, "source": source, "number": number, "file": file})
    for path in sorted((data / "textures").glob("*")):
        if path.suffix in (".jpg", ".png") and "height" not in path.name and "rough" not in path.name:
            cv2.imwrite(str(out / "textures" / path.name), shrink(cv2.imread(str(path)), 768))
    for path in sorted(rendered.iterdir()) if rendered is not None else ():
        shutil.copy(path, out / "renders" / path.name)
    for folder in ("clean", "ground", "rusty", "things"):
        shutil.copytree(more / folder, out / folder, dirs_exist_ok=True)
    (out / "list.json").write_text(json.dumps(entries))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("more", type=Path, help="what gather.py wrote: pictures without rust, surfaces, rusted sheet, cut-outs")
    parser.add_argument("out", type=Path)
    parser.add_argument("--renders", type=Path, help="folder of rendered vehicles with their masks (render/many.py)")
    given = parser.parse_args()
    pack(given.data, given.more, given.renders, given.out)
