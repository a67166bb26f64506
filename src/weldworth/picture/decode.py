"""Bytes into upright pixels: sized up from the header first, decoded small where small is enough.

Pixels are uint8 of shape (height, width, 3), sRGB, red first. Faults come out as BadInput with one sentence: the file, what
is wrong with it, what to do.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NoReturn

import cv2
import numpy as np
import numpy.typing as npt
import pi_heif  # type: ignore[import-untyped]
from PIL import Image, UnidentifiedImageError

from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.picture.exif import Capture, capture_of
from weldworth.picture.limits import Limits

Pixels = npt.NDArray[np.uint8]

warnings.filterwarnings("ignore", module=r"PIL\.")  # a damaged tag is told by what is read, not on the error stream
cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_SILENT)

_FORMATS = {"JPEG": ("JPEG", "MPO"), "PNG": ("PNG",), "WebP": ("WEBP",), "TIFF": ("TIFF",), "GIF": ("GIF",), "AVIF": ("AVIF",)}
_DEEP = ("I;16", "I;16L", "I;16B", "I;16N", "I", "F")
_SEE_THROUGH = ("RGBA", "LA", "PA", "RGBa", "La")
_STANDARD_TABLE_SUM = 3688  # luminance quantisation of ITU-T T.81 Annex K.1, which quality 50 uses as it stands


@dataclass(frozen=True, slots=True)
class Header:
    """What the header tells before any pixel is decoded.

    width, height : upright, in pixels. saved : JPEG quality 1..100 by its quantisation table, None for other kinds.
    """

    kind: str
    width: int
    height: int
    mode: str
    capture: Capture
    saved: float | None
    progressive: bool
    remarks: tuple[Remark, ...]

    @property
    def whole(self) -> bool:
        """Whether the decoder must hold every pixel (or coefficient) at once."""
        return self.kind != "JPEG" or self.progressive

    @property
    def pixels(self) -> int:
        return self.width * self.height


@dataclass(frozen=True, slots=True)
class Decoded:
    """header : as `header_of` tells it. pixels : upright; as large as asked for or up to twice that."""

    header: Header
    pixels: Pixels


class Opened:
    """A picture file sized up and ready to decode: `header`, and `decoded` for its pixels."""

    def __init__(self, data: bytes, kind: str, where: str, limits: Limits) -> None:
        """Raises BadInput where it cannot be read, is too large to decode or too small to show anything."""
        self._kind, self._where = kind, where
        try:
            self.header, self._load = _open_heic(data, where) if kind == "HEIC" else _open_other(data, kind, where)
        except Exception as fault:  # a parser meeting a damaged file may raise anything
            _refuse(where, kind, fault)
        _fit_to_decode(self.header, where, limits)

    def decoded(self, long_side: int | None = None) -> Decoded:
        """Decode it, at least `long_side` pixels long where it has as many; whole when None.

        The first frame of an animation, the first page of several, transparency over white, 16 bits cut to 8, CMYK turned to
        RGB without its profile. Raises BadInput for pixels that cannot be decoded.
        """
        try:
            pixels = self._load(_shrink_by(self.header, long_side))
        except Exception as fault:  # a decoder meeting a damaged file may raise anything
            _refuse(self._where, self._kind, fault)
        if long_side is not None and max(pixels.shape[:2]) >= 2 * long_side:
            pixels = resized(pixels, long_side)
        return Decoded(self.header, upright(pixels, self.header.capture.orientation))


def decode(data: bytes, kind: str, where: str, limits: Limits, long_side: int | None = None) -> Decoded:
    """Size up and decode a picture file in one go; raises BadInput as `Opened` and `Opened.decoded` do."""
    return Opened(data, kind, where, limits).decoded(long_side)


def resized(pixels: Pixels, long_side: int) -> Pixels:
    """The picture with its long side at most `long_side` pixels: halved (means of 2 x 2) while twice as large, then fitted."""
    while max(pixels.shape[:2]) >= 2 * long_side:
        height, width = (max(1, side // 2) for side in pixels.shape[:2])
        even = pixels[: max(1, height * 2), : max(1, width * 2)]
        pixels = np.asarray(cv2.resize(even, (width, height), interpolation=cv2.INTER_AREA), dtype=np.uint8)
    height, width = pixels.shape[:2]
    scale = long_side / max(height, width)
    if scale >= 1:
        return pixels
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_LINEAR), dtype=np.uint8)


def upright(pixels: Pixels, orientation: int) -> Pixels:
    """Turn and mirror stored pixels as Exif orientation 1..8 asks (CIPA DC-008, tag 0x0112)."""
    if orientation in (5, 6, 7, 8):
        pixels = np.asarray(cv2.transpose(pixels), dtype=np.uint8)
    down, across = orientation in (3, 4, 7, 8), orientation in (2, 3, 6, 7)
    if down or across:
        pixels = np.asarray(cv2.flip(pixels, -1 if down and across else 0 if down else 1), dtype=np.uint8)
    return pixels


def encoded(pixels: Pixels, quality: int) -> bytes:
    """The picture as JPEG without any metadata."""
    done, data = cv2.imencode(".jpg", cv2.cvtColor(pixels, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, quality])
    if not done:
        raise BadInput(f"a picture of {pixels.shape[1]} x {pixels.shape[0]} pixels cannot be written as JPEG; make it smaller")
    return data.tobytes()


_Load = Callable[[int], Pixels]


def _fit_to_decode(header: Header, where: str, limits: Limits) -> None:
    most = limits.pixels_whole
    if header.kind == "JPEG":
        most = limits.pixels_progressive if header.progressive else limits.pixels_jpeg
    elif header.kind in ("WebP", "HEIC", "AVIF") or header.mode in ("I", "F"):
        most = limits.pixels_copied
    size = f"{header.width} x {header.height} pixels"
    if header.pixels > most:
        text = f"claims {size}, more than the {most / 1e6:.0f} million that are decoded; save it smaller"
        raise BadInput([Problem(where, text)])
    if min(header.width, header.height) < limits.least_side:
        least = f"{limits.least_side:.0f} pixels"
        text = f"is only {size}, too small to show anything ({least} at least); send the picture itself, not its thumbnail"
        raise BadInput([Problem(where, text)])


def _open_heic(data: bytes, where: str) -> tuple[Header, _Load]:
    """HEIC through libheif, which has turned the picture upright already: the Exif orientation is not applied again."""
    file = pi_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=True)
    exif = Image.Exif()
    if file.info.get("exif"):
        exif = _loaded_exif(bytes(file.info["exif"]))
    capture = replace(capture_of(exif, bytes(file.info.get("xmp") or b"")), orientation=1)
    width, height = file.size
    remarks = (_first(where, "pictures"),) if len(file) > 1 else ()
    header = Header("HEIC", width, height, file.mode, capture, None, False, remarks)
    return header, lambda _: _eight_bit(file.to_pillow())


def _loaded_exif(data: bytes) -> Image.Exif:
    exif = Image.Exif()
    try:
        exif.load(data)
    except Exception:  # a damaged block raises whatever its parser stumbles on; the picture is still a picture
        return Image.Exif()
    return exif


def _open_other(data: bytes, kind: str, where: str) -> tuple[Header, _Load]:
    image = Image.open(io.BytesIO(data), formats=_FORMATS[kind])
    try:
        exif = image.getexif()
    except Exception:  # as above
        exif = Image.Exif()
    xmp = image.info.get("xmp") or b""
    capture = capture_of(exif, xmp if isinstance(xmp, bytes) else str(xmp).encode())
    width, height = image.size
    if capture.orientation >= 5:
        width, height = height, width
    remarks = _oddities(image, kind, where)
    header = Header(kind, width, height, image.mode, capture, _saved(image), bool(image.info.get("progressive")), remarks)
    return header, lambda shrink: _pixels(image, data, kind, shrink)


def _oddities(image: Image.Image, kind: str, where: str) -> tuple[Remark, ...]:
    found = []
    if kind != "JPEG" and getattr(image, "is_animated", False):
        found.append(_first(where, "pages" if kind == "TIFF" else "frames"))
    if image.mode == "CMYK":
        found.append(Remark("cmyk", where, "is in printing colours (CMYK); colours are near, not exact"))
    if image.mode in _DEEP:
        found.append(Remark("deep", where, f"has more than 8 bits a pixel ({image.mode}); the finest steps are dropped"))
    return tuple(found)


def _first(where: str, of: str) -> Remark:
    return Remark("first-only", where, f"holds several {of}; only the first is looked at")


def _saved(image: Image.Image) -> float | None:
    """JPEG quality on the 1..100 scale whose 50 is the example table of ITU-T T.81 Annex K.1; None where it has none.

    Exact for files saved with scaled example tables, near for a camera's own tables.
    """
    tables = getattr(image, "quantization", None)
    if not tables:
        return None
    scale = 100 * sum(next(iter(tables.values()))) / _STANDARD_TABLE_SUM
    return round(float(np.clip((200 - scale) / 2 if scale <= 100 else 5000 / scale, 1, 100)), 1)


def _shrink_by(header: Header, long_side: int | None) -> int:
    """The largest of 8, 4, 2, 1 by which the decoder may divide the size and still give `long_side` pixels."""
    longest = max(header.width, header.height)
    return next(by for by in (8, 4, 2, 1) if by == 1 or (long_side is not None and -(-longest // by) >= long_side))


_SCALED = {1: 0, 2: cv2.IMREAD_REDUCED_GRAYSCALE_2, 4: cv2.IMREAD_REDUCED_GRAYSCALE_4, 8: cv2.IMREAD_REDUCED_GRAYSCALE_8}
_AS_STORED = cv2.IMREAD_COLOR_RGB | cv2.IMREAD_IGNORE_ORIENTATION


def _pixels(image: Image.Image, data: bytes, kind: str, shrink: int) -> Pixels:
    """Stored pixels, not yet turned upright, shrunk by about `shrink`."""
    if kind == "JPEG" and image.mode in ("RGB", "L"):
        found = cv2.imdecode(np.frombuffer(data, np.uint8), _SCALED[shrink] | _AS_STORED)
        if found is not None:
            return np.asarray(found, dtype=np.uint8)
    if kind == "JPEG" and shrink > 1:
        image.draft(None, (image.width // shrink, image.height // shrink))
        shrink = 1
    image.load()
    if image.mode in _DEEP:
        return _from_deep(image, max(image.size) // shrink)
    if shrink > 1 and image.mode in ("RGB", "L", "RGBA", "LA", "CMYK"):
        image = image.reduce(shrink)
    return _eight_bit(image)


def _eight_bit(image: Image.Image) -> Pixels:
    if image.mode in _SEE_THROUGH or "transparency" in image.info:
        clear = image.convert("RGBA")
        ground = Image.new("RGB", clear.size, "white")
        ground.paste(clear, mask=clear.getchannel("A"))
        image = ground
    return np.asarray(image if image.mode == "RGB" else image.convert("RGB"), dtype=np.uint8)


def _from_deep(image: Image.Image, long_side: int) -> Pixels:
    """A deep grey picture in 8 bits, shrunk; each copy is given up before the next is made, for such pictures are large."""
    values = np.asarray(image)
    image.close()
    grey = _levels(values)
    del values
    return np.asarray(cv2.cvtColor(resized(grey, long_side), cv2.COLOR_GRAY2RGB), dtype=np.uint8)


def _levels(values: npt.NDArray[np.generic]) -> Pixels:
    """Deep grey levels cut to 8 bits.

    16-bit ones by their high byte, or, where none is above 4095, as the 12-bit ones that they are; wider and real ones stretched
    from least to most.
    """
    if values.dtype.kind == "u" and values.dtype.itemsize == 2:
        if int(values.max()) < 4096:
            return np.right_shift(values.astype(np.uint16, copy=False), 4).astype(np.uint8)
        high = values.astype("<u2", copy=False).view(np.uint8)[:, 1::2]
        return np.ascontiguousarray(high)
    real = values.astype(np.float32)
    np.nan_to_num(real, copy=False, posinf=0.0, neginf=0.0)
    low, high_end = float(real.min()), float(real.max())
    if values.dtype.kind == "i" and low >= 0 and high_end <= 65535:
        low, high_end = 0.0, 65535.0
    real -= low
    real *= 255 / max(high_end - low, 1e-12)
    return real.astype(np.uint8)


_EARLY = ("truncated", "insufficient", "end of file", "ended early", "not enough", "broken data", "bad marker", "incomplete")


def _refuse(where: str, kind: str, fault: Exception) -> NoReturn:
    words = " ".join(str(fault).split())[:120]
    if not words or isinstance(fault, UnidentifiedImageError):
        words = "its inside is not what its start says"
    elif "error -" in words or "Plugin" in words:
        words = "its inside does not decode"
    if isinstance(fault, Image.DecompressionBombError):
        text = "claims more pixels than any phone takes and would fill the memory; save it smaller"
    elif any(word in words.lower() for word in _EARLY):
        text = f"is a {kind} picture that is cut off or damaged inside; copy or send it again from the phone"
    else:
        text = f"starts like a {kind} picture but cannot be read ({words}); save it anew from a viewer, or take it again"
    raise BadInput([Problem(where, text)]) from None
