"""Makes the demo's pictures and the tests' masks of what demo.py rendered: python develop.py RAW DEMO MASKS

DEMO/VEHICLE/pictures/NAME.jpg, with camera and day in the Exif data as the story wants them; MASKS/VEHICLE_NAME.png with, in
each pixel, the number of the zone (red; names.json has them) and the bits of the signs (green, in the order of metal.SEEN).
"""

from __future__ import annotations

import argparse
import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from demo import SIZE, VEHICLES
from numpy.typing import NDArray
from phone import Phone, developed
from PIL import Image

LIMIT = 60_000
LENS_35 = 27


@dataclass(frozen=True)
class Sent:
    """One file of a dossier. of: the render it is made of. day: what the camera's clock said. mirrored: turned over."""

    of: str
    day: str
    phone: Phone
    mirrored: bool = False
    name: str = ""


SENT: dict[str, tuple[Sent, ...]] = {
    "harrow-150": (
        Sent("front-left", "2026:10:12 16:21:09", Phone(warm=0.3, seed=2)),
        Sent("corner-left", "2023:06:18 11:02:40", Phone(seed=3)),
        Sent("corner-right", "2026:10:12 16:24:51", Phone(seed=4)),
        Sent("rocker-left-2024", "2024:05:01 10:15:30", Phone(seed=5, noise=0.014)),
        Sent("shackle-left", "2026:10:30 17:40:12", Phone(seed=6, bright=-1.0)),
        Sent("shackle-left", "2026:10:30 17:41:00", Phone(seed=7, bright=-0.8), mirrored=True, name="shackle-right"),
        Sent("horn-left", "2026:10:30 17:44:27", Phone(seed=8, bright=-1.4)),
        Sent("under-cab-left", "2026:10:30 17:47:03", Phone(bright=-3.6, seed=9, noise=0.03)),
    ),
    "ostrel-forager": tuple(
        Sent(of, f"2026:10:{day} {hour}:05:11", Phone(seed=20 + k, colour=1.15))
        for k, (of, day, hour) in enumerate(
            (
                ("front-left", "01", "15"),
                ("windshield-frame", "01", "16"),
                ("rear-crossmember", "18", "10"),
                ("hanger-right", "18", "11"),
                ("rocker-left", "18", "12"),
                ("foot-left", "19", "09"),
                ("battery", "19", "10"),
            )
        )
    ),
    "pelham-lisse": tuple(
        Sent(of, f"2026:11:02 {hour}:31:48", Phone(seed=40 + k))
        for k, (of, hour) in enumerate(
            (
                ("front-right", "09"),
                ("sill-left", "10"),
                ("rail-rear-left", "11"),
                ("trunk-floor", "12"),
                ("battery", "14"),
                ("number-plate", "15"),
            )
        )
    ),
}


def jpeg(image: NDArray[np.uint8], day: str) -> bytes:
    """A JPEG of at most LIMIT bytes with the day, an invented phone and its lens in the Exif data."""
    picture = Image.fromarray(image)
    exif = picture.getexif()
    exif[0x010F], exif[0x0110] = "Weldworth", "rendered picture"
    inner = exif.get_ifd(0x8769)
    inner[0x9003] = day
    inner[0xA405] = LENS_35
    for quality in range(90, 40, -3):
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=quality, exif=exif, optimize=True)
        if out.tell() <= LIMIT:
            break
    return out.getvalue()


def one(raw: Any, sent: Sent) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """The picture and its mask (h, w, 3): zone number, signs, 0."""
    image = developed(raw["light"].astype(np.float32), sent.phone)
    numbers = zone_numbers(raw)
    mask = np.zeros(image.shape, np.uint8)
    mask[..., 0], mask[..., 1] = numbers[raw["label"]], raw["signs"]
    return (image[:, ::-1].copy(), mask[:, ::-1].copy()) if sent.mirrored else (image, mask)


def zone_numbers(raw: Any) -> NDArray[np.uint8]:
    """By label number, the number of its zone in the sorted list of the body's zones, from 1; 0 for none."""
    names = sorted({str(z) for z in raw["zones"]} - {""})
    return np.array([names.index(str(z)) + 1 if z else 0 for z in raw["zones"]], np.uint8)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    for name in ("raw", "demo", "masks"):
        parser.add_argument(name, type=Path)
    given = parser.parse_args()
    listed: dict[str, Any] = {}
    given.masks.mkdir(parents=True, exist_ok=True)
    for vehicle, all_sent in SENT.items():
        folder = given.demo / vehicle / "pictures"
        folder.mkdir(parents=True, exist_ok=True)
        for sent in all_sent:
            file = given.raw / vehicle / f"{sent.of}.npz"
            if not file.exists():
                print(f"{file} is missing: render it first")
                continue
            raw = np.load(file)
            name = sent.name or sent.of
            image, mask = one(raw, sent)
            (folder / f"{name}.jpg").write_bytes(jpeg(image, sent.day))
            cv2.imwrite(str(given.masks / f"{vehicle}_{name}.png"), mask[..., ::-1], [cv2.IMWRITE_PNG_COMPRESSION, 9])
            zones = sorted({str(z) for z in raw["zones"]} - {""})
            numbers = [int(n) for n in np.unique(mask[..., 0]) if n]
            entry: dict[str, Any] = {"zones": {str(n): zones[n - 1] for n in numbers}}
            if not sent.mirrored:
                shot = next(s for v in VEHICLES if v.name == vehicle for s in v.shots if s.name == sent.of)
                body = next(v.body for v in VEHICLES if v.name == vehicle)
                entry["camera"] = {"body": body, "at": shot.at, "aim": shot.aim, "lens": shot.lens, "size": SIZE, "off": shot.off}
            if "spots" in raw.files:
                entry |= {k: np.round(raw[k], 2).tolist() if k != "prop" else str(raw[k]) for k in ("prop", "middle", "spots")}
            listed[f"{vehicle}_{name}"] = entry
    (given.masks / "names.json").write_text(json.dumps(listed, indent=1, sort_keys=True) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
