"""Rendered number plates, harder than clean print: glare, rust, patches, dots, tilt, few pixels, relief, paint. By seed."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import matplotlib
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont

from weldworth.vehicle.number import check_digit

KINDS = ("printed", "relief", "dot-peen", "painted", "glare", "rust", "patches", "tilt", "small")
LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"
DIGITS = "0123456789"
FACES = ("DejaVuSansMono-Bold", "DejaVuSans-Bold", "DejaVuSansMono", "DejaVuSans")
FOLDER = f"{matplotlib.get_data_path()}/fonts/ttf/"


@dataclass(frozen=True, slots=True)
class Plate:
    """image : uint8 (height, width, 3), red first. text : what is stamped. kind : one of KINDS. checked : has a check digit."""

    image: npt.NDArray[np.uint8]
    text: str
    kind: str
    checked: bool


def invented(rng: np.random.Generator, length: int) -> str:
    """A number of no maker: 17 characters with a right check digit and a serial of digits, or a maker's own older form."""
    if length != 17:
        return "".join(rng.choice(list(LETTERS if rng.random() < 0.25 else DIGITS)) for _ in range(length))
    start = "".join(rng.choice(list(LETTERS + DIGITS[1:])) for _ in range(8))
    rest = rng.choice(list("ABCDEFGHJKLMNPRSTVWXY123456789")) + rng.choice(list(LETTERS + DIGITS[1:]))
    serial = "".join(rng.choice(list(DIGITS)) for _ in range(6))
    return f"{start}{check_digit(f'{start}0{rest}{serial}')}{rest}{serial}"


def plate(seed: int, kind: str | None = None, length: int | None = None) -> Plate:
    """One plate in its picture."""
    rng = np.random.default_rng([seed, 3])
    kind = KINDS[seed % len(KINDS)] if kind is None else kind
    length = int(rng.choice([13, 17])) if length is None else length
    text = invented(rng, length)
    image = _surface(rng)
    mask = _dots(rng, text, image.shape) if kind == "dot-peen" else _letters(rng, text, image.shape)
    image = _marked(rng, image, mask, kind)
    image = _worn(rng, image, kind)
    return Plate(_photographed(rng, image, kind), text, kind, length == 17)


def _surface(rng: np.random.Generator) -> npt.NDArray[np.float32]:
    base = np.array([(170, 168, 160), (95, 95, 98), (60, 75, 62), (190, 180, 150), (120, 60, 50)][rng.integers(5)], np.float32)
    grain = sum(
        cv2.resize(rng.normal(size=(300 // s, 1100 // s)).astype(np.float32), (1100, 300), interpolation=cv2.INTER_CUBIC) * w
        for s, w in ((50, 6), (8, 4), (2, 3))
    )
    return base + np.asarray(grain, np.float32)[..., None]


def _letters(rng: np.random.Generator, text: str, shape: tuple[int, ...]) -> npt.NDArray[np.float32]:
    face = ImageFont.truetype(
        f"{FOLDER}{FACES[rng.integers(len(FACES))]}.ttf",
        int(rng.integers(64, 74)) if len(text) > 13 else int(rng.integers(78, 90)),
    )
    sheet = Image.new("L", (shape[1], shape[0]), 0)
    pen = ImageDraw.Draw(sheet)
    gap = rng.uniform(2, 7)
    widths = [pen.textlength(char, font=face) + gap for char in text]
    squeeze = min(1.0, 1040 / sum(widths))
    x = (shape[1] - sum(widths) * squeeze) / 2
    for char, width in zip(text, widths, strict=True):
        tile = Image.new("L", (int(width) + 8, 120), 0)
        ImageDraw.Draw(tile).text((2, 10), char, font=face, fill=255)
        tile = tile.resize((max(4, int(tile.width * squeeze)), 120)).rotate(rng.normal(0, 1.2), resample=Image.Resampling.BICUBIC)
        sheet.paste(255, (int(x), int(90 + rng.normal(0, 2))), tile)
        x += width * squeeze
    return np.asarray(sheet, np.float32) / 255


DOTS = {
    "0": "01110 10001 10011 10101 11001 10001 01110", "1": "00100 01100 00100 00100 00100 00100 01110",
    "2": "01110 10001 00001 00110 01000 10000 11111", "3": "11110 00001 00001 01110 00001 00001 11110",
    "4": "00010 00110 01010 10010 11111 00010 00010", "5": "11111 10000 11110 00001 00001 10001 01110",
    "6": "01110 10000 10000 11110 10001 10001 01110", "7": "11111 00001 00010 00100 01000 01000 01000",
    "8": "01110 10001 10001 01110 10001 10001 01110", "9": "01110 10001 10001 01111 00001 00001 01110",
    "A": "01110 10001 10001 11111 10001 10001 10001", "B": "11110 10001 10001 11110 10001 10001 11110",
    "C": "01110 10001 10000 10000 10000 10001 01110", "D": "11110 10001 10001 10001 10001 10001 11110",
    "E": "11111 10000 10000 11110 10000 10000 11111", "F": "11111 10000 10000 11110 10000 10000 10000",
    "G": "01110 10001 10000 10111 10001 10001 01111", "H": "10001 10001 10001 11111 10001 10001 10001",
    "J": "00111 00010 00010 00010 00010 10010 01100", "K": "10001 10010 10100 11000 10100 10010 10001",
    "L": "10000 10000 10000 10000 10000 10000 11111", "M": "10001 11011 10101 10101 10001 10001 10001",
    "N": "10001 11001 10101 10011 10001 10001 10001", "P": "11110 10001 10001 11110 10000 10000 10000",
    "R": "11110 10001 10001 11110 10100 10010 10001", "S": "01111 10000 10000 01110 00001 00001 11110",
    "T": "11111 00100 00100 00100 00100 00100 00100", "U": "10001 10001 10001 10001 10001 10001 01110",
    "V": "10001 10001 10001 10001 10001 01010 00100", "W": "10001 10001 10001 10101 10101 11011 10001",
    "X": "10001 10001 01010 00100 01010 10001 10001", "Y": "10001 10001 01010 00100 00100 00100 00100",
    "Z": "11111 00001 00010 00100 01000 10000 11111",
}  # fmt: skip


def _dots(rng: np.random.Generator, text: str, shape: tuple[int, ...]) -> npt.NDArray[np.float32]:
    """Characters of 5 x 7 pricked dots; the 0 is drawn without the stroke through it in half of the plates."""
    mask = np.zeros(shape[:2], np.uint8)
    pitch = 1020 / (len(text) * 6.4)
    plain = rng.random() < 0.5
    for place, char in enumerate(text):
        rows = (
            (DOTS["0"] if char != "0" or not plain else "01110 10001 10001 10001 10001 10001 01110")
            if char == "0"
            else DOTS[char]
        )
        for row, bits in enumerate(rows.split()):
            for column, bit in enumerate(bits):
                if bit == "1" and rng.random() > 0.02:
                    spot = 40 + (place * 6.4 + column) * pitch + rng.normal(0, 0.5), 100 + row * pitch * 1.15 + rng.normal(0, 0.5)
                    cv2.circle(mask, (int(spot[0] * 8), int(spot[1] * 8)), int(pitch * 0.36 * 8), 255, -1, cv2.LINE_AA, 3)
    return mask.astype(np.float32) / 255


def _marked(
    rng: np.random.Generator, image: npt.NDArray[np.float32], mask: npt.NDArray[np.float32], kind: str
) -> npt.NDArray[np.float32]:
    stamped = kind in ("relief", "dot-peen", "painted") or (kind not in ("printed",) and rng.random() < 0.6)
    if not stamped:
        ink = np.array([(20, 20, 22), (235, 235, 225)][int(image.mean() < 110)], np.float32)
        return image * (1 - mask[..., None] * 0.9) + ink * mask[..., None] * 0.9
    height = cv2.GaussianBlur(mask, (0, 0), 1.6) * (1 if rng.random() < 0.5 else -1)
    angle = rng.uniform(0, 2 * np.pi)
    light = cv2.Sobel(height, cv2.CV_32F, 1, 0) * np.cos(angle) + cv2.Sobel(height, cv2.CV_32F, 0, 1) * np.sin(angle)
    out = image * (1 + rng.uniform(0.18, 0.5) * light[..., None]) - 12 * mask[..., None]
    if kind == "painted":
        fill = cv2.GaussianBlur(np.roll(mask, tuple(rng.integers(-2, 3, 2)), (0, 1)), (0, 0), 2) > rng.uniform(0.3, 0.6)
        gone = cv2.resize(rng.random((20, 70)).astype(np.float32), (1100, 300)) < 0.25
        out = np.where((fill & ~gone)[..., None], np.array([225, 222, 210], np.float32), out)
    return np.asarray(out, np.float32)


def _worn(rng: np.random.Generator, image: npt.NDArray[np.float32], kind: str) -> npt.NDArray[np.float32]:
    brown = np.array([105, 58, 32], np.float32)
    specks = rng.integers(60, 160) if kind == "rust" else rng.integers(0, 12)
    for _ in range(specks):
        spot = rng.integers(0, 1100), rng.integers(40, 260)
        cv2.circle(
            image,
            (int(spot[0]), int(spot[1])),
            int(rng.integers(1, 6)),
            tuple(float(v) for v in brown * rng.uniform(0.7, 1.3)),
            -1,
            cv2.LINE_AA,
        )
    if kind == "patches":
        for _ in range(rng.integers(1, 4)):
            spot, axes = (
                (int(rng.integers(80, 1020)), int(rng.integers(90, 210))),
                (int(rng.integers(8, 24)), int(rng.integers(8, 30))),
            )
            patch = np.zeros(image.shape[:2], np.float32)
            cv2.ellipse(patch, spot, axes, float(rng.uniform(0, 180)), 0, 360, 1.0, -1)
            patch = cv2.GaussianBlur(patch, (0, 0), 4)[..., None] * rng.uniform(0.5, 0.95)
            image = image * (1 - patch) + brown * patch
    if kind == "glare":
        y, x = np.mgrid[:300, :1100].astype(np.float32)
        for _ in range(rng.integers(1, 3)):
            spread = rng.uniform(25, 80), rng.uniform(20, 60)
            image = (
                image
                + 230
                * np.exp(
                    -((x - rng.uniform(100, 1000)) ** 2) / 2 / spread[0] ** 2
                    - ((y - rng.uniform(80, 220)) ** 2) / 2 / spread[1] ** 2
                )[..., None]
            )
    return image


def _photographed(rng: np.random.Generator, image: npt.NDArray[np.float32], kind: str) -> npt.NDArray[np.uint8]:
    """The plate riveted to painted metal, turned, in perspective, blurred, with noise and JPEG."""
    width = 300 if kind == "small" else int(rng.integers(520, 900))
    canvas = np.zeros((int(width * 0.95), int(width * 1.4)), np.float32)
    ground = np.array([(40, 60, 90), (130, 125, 118), (35, 35, 37), (110, 40, 35)][rng.integers(4)], np.float32)
    scale = width / 1100
    middle = np.array([canvas.shape[1] / 2, canvas.shape[0] / 2])
    turn = np.radians(rng.choice([-1, 1]) * rng.uniform(15, 20) if kind == "tilt" else rng.normal(0, 3))
    corners = (np.array([[0, 0], [1100, 0], [1100, 300], [0, 300]]) - [550, 150]) * scale
    turned = corners @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    lean = 0.05 if kind == "tilt" else 0.02
    target = (turned * (1 + rng.uniform(-lean, lean, (4, 2))) + middle).astype(np.float32)
    source = np.array([[0, 0], [1100, 0], [1100, 300], [0, 300]], np.float32)
    carried = cv2.getPerspectiveTransform(source, target)
    blurred = cv2.GaussianBlur(image, (0, 0), max(0.3, 0.35 / scale))
    size = (canvas.shape[1], canvas.shape[0])
    plate_seen = cv2.warpPerspective(blurred, carried, size, flags=cv2.INTER_LINEAR)
    alpha = cv2.warpPerspective(np.ones(image.shape[:2], np.float32), carried, size)[..., None]
    shown = ground * (1 - alpha) + plate_seen * alpha + rng.normal(0, 3, (*canvas.shape, 3))
    shown = cv2.GaussianBlur(shown, (0, 0), rng.uniform(0.4, 0.9)) + rng.normal(0, rng.uniform(1, 5), shown.shape)
    _, data = cv2.imencode(
        ".jpg", shown.clip(0, 255).astype(np.uint8)[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(70, 95))]
    )
    return np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])
