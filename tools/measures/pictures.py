"""Figures of picture intake, quality and look-alikes: rates, peak memory, copies found, all on pictures made here."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from measures.figure import Figure
from weldworth.picture import check, take_in
from weldworth.picture.alike import likeness, print_of
from weldworth.picture.folder import PictureFolder
from weldworth.tables import load_tables

DATA = Path(__file__).resolve().parents[2] / "tests" / "picture" / "data"
Pixels = npt.NDArray[np.uint8]
FILES, ROUNDS, MEGAPIXELS = 12, 5, (4000, 3000)
ON = "12 JPEGs of 12 megapixels, about 3 MB each, enlarged from a real phone picture with grain added"


class _Unwritten(PictureFolder):
    """A folder that keeps previews and facts but does not write the originals."""

    def put(self, data: bytes, sha256: str | None = None) -> str:
        return sha256 or ""

    def settle(self, sha256: str) -> None:
        return None


def measure() -> list[Figure]:
    """All figures of pictures."""
    return [*_rates(), _verdict_time(), _memory(), *_copies()]


def _panel() -> Pixels:
    return np.asarray(Image.open(DATA / "intake_panel_a.jpg").convert("RGB"), dtype=np.uint8)


def _phone_pictures(place: Path) -> list[Path]:
    image = cv2.cvtColor(_panel(), cv2.COLOR_RGB2BGR)
    files = []
    for number in range(FILES):
        part = cv2.resize(image[:, 20 * number : 20 * number + 615], MEGAPIXELS, interpolation=cv2.INTER_CUBIC)
        grain = np.random.default_rng(number).normal(0, 9, part.shape)
        files.append(place / f"{number}.jpg")
        cv2.imwrite(str(files[-1]), np.clip(part + grain, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 88])
    return files


def _bare(path: Path) -> Image.Image:
    """Decoding alone, at the quarter scale that intake uses."""
    image = Image.open(path)
    image.draft("RGB", (1000, 750))
    image.load()
    return image


def _rates() -> list[Figure]:
    tables = load_tables()
    assert tables.version
    cv2.setNumThreads(1)
    try:
        with tempfile.TemporaryDirectory() as name:
            files = _phone_pictures(Path(name))

            def intake(workers: int, kind: type[PictureFolder]) -> tuple[float, float]:
                with tempfile.TemporaryDirectory() as kept:
                    return _rate(lambda: take_in(files, kind(Path(kept)), tables=tables, workers=workers))

            def bare(workers: int) -> tuple[float, float]:
                def run() -> None:
                    with ThreadPoolExecutor(workers) as pool:
                        list(pool.map(_bare, files))

                return _rate(run)

            runs = [
                (*bare(1), *intake(1, _Unwritten), *intake(1, PictureFolder), *bare(2), *intake(2, _Unwritten))
                for _ in range(ROUNDS)
            ]
    finally:
        cv2.setNumThreads(-1)
    alone, alone_cpu, made, made_cpu, kept, kept_cpu, both, _, two, _ = (max(column) for column in zip(*runs, strict=True))
    share, gain, free = made / alone, two / made, both / alone
    how = f"best of {ROUNDS} rounds, bare decoding at the same scale in between, one thread"
    return [
        Figure("intake against bare decoding", round(share, 3), "", "at least 0.8", share >= 0.8,
               f"{how}; decode, preview, quality, hash, EXIF; the original's bytes not written", ON),
        Figure("the same in processor time", round(made_cpu / alone_cpu, 3), "", "at least 0.8", made_cpu / alone_cpu >= 0.8,
               "as above, by processor seconds, which other work on the machine does not stretch", ON),
        Figure("the same with the original written and flushed to disk", round(kept / alone, 3), "", "none set", True,
               f"{how}; {kept_cpu / alone_cpu:.2f} in processor time", ON),
        Figure("intake per second, one core", round(made, 1), "/s", "none set", True, how, ON),
        Figure("intake on two threads against one", round(gain, 2), "", "about 2, or what bare decoding gains on the cores free",
               gain >= 1.7 or gain >= 0.85 * free, f"best of {ROUNDS} rounds; bare decoding gains {free:.2f} in them", ON),
    ]  # fmt: skip


def _rate(work: Callable[[], object]) -> tuple[float, float]:
    """Pictures per second by the clock, and per second of processor time."""
    start, spent = time.perf_counter(), time.process_time()
    work()
    return FILES / (time.perf_counter() - start), FILES / (time.process_time() - spent)


def _verdict_time() -> Figure:
    image = np.asarray(cv2.resize(_panel(), (1600, 1200)), dtype=np.uint8)
    tables = load_tables()
    check(image, tables=tables)
    spent = []
    for _ in range(20):
        start = time.perf_counter()
        check(image, tables=tables)
        spent.append(1000 * (time.perf_counter() - start))
    value = statistics.median(spent)
    return Figure("quality verdict", round(value, 1), "ms", "at most 60 ms", value <= 60, "median of 20", "a 1600 x 1200 picture")


_ALONE = """
import sys, tempfile
from pathlib import Path
from weldworth.picture import take_in
from weldworth.picture.folder import PictureFolder
with tempfile.TemporaryDirectory() as kept:
    found = take_in(Path(sys.argv[1]), PictureFolder(Path(kept)), workers=2)
assert len(found.pictures) == 1, found.problems
print(next(line for line in open("/proc/self/status") if line.startswith("VmHWM")).split()[1])
"""


def _memory() -> Figure:
    """Peak memory of a process that takes in one of the largest pictures allowed, the worst of seven kinds."""
    with tempfile.TemporaryDirectory() as name:
        peaks = {}
        for path in _largest(Path(name)):
            run = subprocess.run([sys.executable, "-c", _ALONE, path], capture_output=True, text=True, check=True, timeout=300)
            peaks[path.name] = int(run.stdout) / 1024
    value = max(peaks.values())
    on = ", ".join(f"{name} {peak:.0f} MB" for name, peak in peaks.items())
    return Figure("peak memory of intake", round(value), "MB", "at most 1000 MB", value <= 1000, "VmHWM of a fresh process", on)


def _largest(place: Path) -> list[Path]:
    row = np.linspace(0, 255, 10000).astype(np.uint8)
    grey = np.repeat(row[None], 7900, axis=0)
    grey[::2] //= 2
    plain, less = Image.fromarray(grey), Image.fromarray(grey[:4900])
    plain.convert("RGB").save(place / "79-megapixel.png", compress_level=1)
    plain.convert("RGBA").save(place / "79-megapixel-alpha.png", compress_level=1)
    Image.fromarray(grey.astype(np.uint16) * 257).save(place / "79-megapixel-16-bit.png", compress_level=1)
    plain.convert("RGB").save(place / "79-megapixel-progressive.jpg", progressive=True, quality=80)
    Image.fromarray(np.tile(grey, (2, 2))[:13000, :13000]).convert("RGB").save(place / "169-megapixel.jpg", quality=80)
    less.convert("RGB").save(place / "49-megapixel.webp", method=0, quality=50)
    less.convert("RGB").save(place / "49-megapixel.avif", speed=10, quality=40)
    return sorted(place.iterdir())


def _copies() -> list[Figure]:
    """Copies made by known changes found among pictures and parts of pictures that are different."""
    pictures = _scenes()
    prints = [print_of(picture) for picture in pictures]
    changes = _changes()
    found = [
        likeness(own, print_of(change(picture))) for own, picture in zip(prints, pictures, strict=True) for change in changes
    ]
    hits = sum(like is not None and like.kind != "place" for like in found)
    pairs = list(combinations(prints, 2))
    wrong = sum((like := likeness(one, other)) is not None and like.kind != "place" for one, other in pairs)
    on = f"{len(pictures)} made scenes of panel, rust and wall, {len(changes)} changes each; {len(pairs)} pairs of different ones"
    how = "resized by half, JPEG quality 30, cropped by 10 and 30 of 100, mirrored, colours shifted, all of it"
    recall, precision = hits / len(found), hits / max(1, hits + wrong)
    return [
        Figure("copies found (recall)", round(recall, 3), "", "at least 0.95", recall >= 0.95, how, on),
        Figure("copies named that are copies (precision)", round(precision, 3), "", "at least 0.95", precision >= 0.95, how, on),
    ]


def _scenes() -> list[Pixels]:
    real = [np.asarray(Image.open(path).convert("RGB")) for path in sorted(DATA.glob("intake_panel_*.jpg"))]
    scenes = []
    for seed in range(30):
        chance = np.random.default_rng(seed)
        ground = sum(cv2.resize(chance.normal(0, 35, (3 * k, 4 * k, 3)), (1024, 768)) for k in (1, 3, 9, 40))
        scene = np.clip(chance.uniform(80, 160) + np.asarray(ground), 0, 255).astype(np.uint8)
        part = real[seed % len(real)][:400, :400][:: 1 if seed % 2 else -1]
        left, top = chance.integers(0, 600), chance.integers(0, 350)
        scene[top : top + part.shape[0], left : left + part.shape[1]] //= 2
        scene[top : top + part.shape[0], left : left + part.shape[1]] += part // 2
        scenes.append(scene)
    return scenes


def _changes() -> Sequence[Callable[[Pixels], Pixels]]:
    def small(image: Pixels, scale: float = 0.5) -> Pixels:
        return np.asarray(cv2.resize(image, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), dtype=np.uint8)

    def squeezed(image: Pixels, quality: int = 30) -> Pixels:
        data = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
        return np.asarray(cv2.imdecode(data, cv2.IMREAD_COLOR), dtype=np.uint8)

    def cropped(image: Pixels, share: float = 0.1) -> Pixels:
        height, width = image.shape[:2]
        return np.ascontiguousarray(image[int(height * share) :, : int(width * (1 - share))])

    def mirrored(image: Pixels) -> Pixels:
        return np.ascontiguousarray(image[:, ::-1])

    def recoloured(image: Pixels) -> Pixels:
        return np.asarray(np.clip(image * np.array([1.2, 1.0, 0.8]) + 10, 0, 255), dtype=np.uint8)

    return (
        small,
        squeezed,
        cropped,
        lambda image: cropped(image, 0.3),
        mirrored,
        recoloured,
        lambda image: squeezed(small(mirrored(cropped(recoloured(image))), 0.7), 50),
    )
