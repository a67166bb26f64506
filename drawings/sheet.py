"""A contact sheet of a body's drawings: python drawings/sheet.py pickup docs/drawings/pickup.png

Run after build.py; it reads the shelf through the package. Beliefs on the toned drawings are made up, seed 3.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

import cairosvg
import numpy as np
from PIL import Image

HOME = Path(__file__).resolve().parent.parent
PAPER = (250, 246, 236)


def _image(svg: str, width: int) -> Image.Image:
    return Image.open(
        io.BytesIO(cairosvg.svg2png(bytestring=svg.encode(), output_width=width, background_color="#faf6ec"))
    ).convert("RGB")


def sheet(body: str, out: Path, width: int = 1440, gap: int = 16) -> None:
    """Every whole view, plain; the first four toned; portrait forms, crops, some pictograms; packed in rows."""
    sys.path.insert(0, str(HOME / "src"))
    from weldworth.drawings import svg, tinted, views
    from weldworth.drawings.shelf import SHIPPED

    known = views(body)
    rng = np.random.default_rng(3)
    zones = sorted({zone for view in known for zone in view.zones})
    bad = {zone: float(b) for zone, b in zip(zones, rng.beta(1.2, 1.6, len(zones)), strict=True)}
    unsure = {zone: float(u) for zone, u in zip(zones, rng.random(len(zones)), strict=True)}
    unseen = {zone for zone, u in unsure.items() if u > 0.85}
    half, third, fifth = (width - gap) // 2, (width - 2 * gap) // 3, (width - 4 * gap) // 5
    images = [
        _image(tinted(body, v.name, bad, unsure, unseen, zones[0]), half)
        for v in known
        if v.name in ("left", "below", "plan", "frame")
    ]
    images += _by_height([_image(svg(body, v.name), third) for v in known if v.form == "whole"])
    images += _by_height([_image(tinted(body, v.name, bad, unsure, unseen), fifth) for v in known if v.form == "portrait"])
    images += _by_height([_image(svg(body, v.name), fifth) for v in known if v.form == "crop"])
    asks = sorted((SHIPPED / body / "asks").glob("*.svg"))[:: max(1, len(list((SHIPPED / body / "asks").glob("*.svg"))) // 16)]
    images += [_image(path.read_text(encoding="utf-8"), 160) for path in asks]
    _packed(images, width, gap).quantize(80, kmeans=1).save(out, optimize=True)


def _by_height(images: list[Image.Image]) -> list[Image.Image]:
    return sorted(images, key=lambda image: -image.height)


def _packed(images: list[Image.Image], width: int, gap: int) -> Image.Image:
    places, x, y, tall = [], 0, 0, 0
    for image in images:
        if x and x + image.width > width:
            x, y, tall = 0, y + tall + gap, 0
        places.append((x, y))
        x, tall = x + image.width + gap, max(tall, image.height)
    page = Image.new("RGB", (width, y + tall), PAPER)
    for image, place in zip(images, places, strict=True):
        page.paste(image, place)
    return page


if __name__ == "__main__":
    sheet(sys.argv[1], Path(sys.argv[2]))
