"""What a file is, told from its first bytes; its name has no say."""

from __future__ import annotations

PICTURES = ("JPEG", "PNG", "WebP", "TIFF", "GIF", "HEIC", "AVIF")
VIDEO = "video"
ZIP = "zip"
HEAD = 512

_HEIF_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"mif2", b"miaf"}
_AVIF_BRANDS = {b"avif", b"avis"}
_STARTS = (
    (b"\xff\xd8\xff", "JPEG"),
    (b"\x89PNG\r\n\x1a\n", "PNG"),
    (b"II*\x00", "TIFF"),
    (b"MM\x00*", "TIFF"),
    (b"II+\x00", "TIFF"),
    (b"MM\x00+", "TIFF"),
    (b"GIF87a", "GIF"),
    (b"GIF89a", "GIF"),
    (b"PK\x03\x04", ZIP),
    (b"PK\x05\x06", ZIP),
    (b"BM", "a BMP picture"),
    (b"%PDF", "a PDF document"),
    (b"8BPS", "a layered editor file"),
    (b"DDS ", "a DDS texture"),
    (b"BLP", "a BLP texture"),
    (b"\x00\x00\x01\x00", "an icon"),
    (b"\x00\x00\x02\x00", "a cursor"),
    (b"\x00\x00\x00\x0cjP  ", "a JPEG 2000 picture"),
    (b"\xff\x4f\xff\x51", "a JPEG 2000 picture"),
    (b"\x1aE\xdf\xa3", "a Matroska or WebM video"),
    (b"FLV", "a Flash video"),
    (b"\x01\xda", "an SGI picture"),
    (b"\x0a\x05\x01", "a PCX picture"),
    (b"Rar!", "a RAR archive"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"%!PS", "a PostScript document"),
    (b"\xd7\xcd\xc6\x9a", "a Windows metafile"),
)


def kind_of(head: bytes) -> str:
    """The kind of a file that starts with `head` (512 bytes are enough).

    One of PICTURES, VIDEO, ZIP, or else words for a sentence, such as "a PDF document" or "not a picture or video".
    """
    for start, kind in _STARTS:
        if head.startswith(start):
            return kind
    if head[:4] == b"RIFF":
        return {b"WEBP": "WebP", b"AVI ": "an AVI video"}.get(head[8:12], "a RIFF file")
    if head[4:8] == b"ftyp":
        return _boxed(head)
    if head[4:8] in (b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"):
        return VIDEO
    if head[:2] in (b"P1", b"P2", b"P3", b"P4", b"P5", b"P6", b"P7") and head[2:3].isspace():
        return "a PNM picture"
    return "a text file" if _text(head) else "not a picture or video"


def _boxed(head: bytes) -> str:
    """The kind of an ISO base media file, by its major and compatible brands (ISO/IEC 14496-12, 23008-12)."""
    length = min(int.from_bytes(head[:4], "big"), len(head))
    brands = [head[8:12], *(head[at : at + 4] for at in range(16, length - 3, 4))]
    if brands[0] in _AVIF_BRANDS:
        return "AVIF"
    if brands[0] in _HEIF_BRANDS:
        return "AVIF" if not _HEVC.intersection(brands) and _AVIF_BRANDS.intersection(brands) else "HEIC"
    return VIDEO


_HEVC = {b"heic", b"heix", b"hevc", b"hevx"}


def _text(head: bytes) -> bool:
    if not head or b"\0" in head:
        return False
    try:
        head.decode("utf-8")
    except UnicodeDecodeError as fault:
        return fault.start > len(head) - 4
    return True
