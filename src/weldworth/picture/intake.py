"""Take pictures and videos in: each read once, kept under its hash, previewed, judged, and told apart from its copies.

A file that cannot be used becomes a sentence and leaves nothing behind; the others go on. What is already in the folder
is not done again, so an intake that was broken off is simply started once more.
"""

from __future__ import annotations

import hashlib
import os
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import nullcontext
from dataclasses import dataclass, replace
from io import BufferedReader
from pathlib import Path, PurePosixPath
from typing import BinaryIO, cast

import cv2
import numpy as np

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.core.remark import Remark
from weldworth.picture.alike import bits_of
from weldworth.picture.archive import Source, sources
from weldworth.picture.decode import Decoded, Opened, Pixels, decode, encoded, resized
from weldworth.picture.exif import Capture
from weldworth.picture.facts import Picture, Video, facts_of, frame_name, written
from weldworth.picture.folder import PictureFolder
from weldworth.picture.kinds import HEAD, PICTURES, VIDEO, ZIP, kind_of
from weldworth.picture.limits import Limits, limits
from weldworth.picture.quality import Scales, judge, scales
from weldworth.picture.video import frames, video_header, video_remarks
from weldworth.tables import Tables, load_tables

Progress = Callable[[int, int, str], None]
ONE_COLOUR = "one-colour"  # the code of a picture that opens and shows nothing
_ASK = "give JPEG, PNG, WebP, TIFF, HEIC or AVIF pictures, mp4 or mov videos, or a zip of them"
_ENDINGS = {
    "JPEG": (".jpg", ".jpeg", ".jpe", ".jfif", ".mpo"),
    "PNG": (".png", ".apng"),
    "WebP": (".webp",),
    "TIFF": (".tif", ".tiff"),
    "GIF": (".gif",),
    "HEIC": (".heic", ".heif", ".hif"),
    "AVIF": (".avif",),
    VIDEO: (".mp4", ".mov", ".m4v", ".qt", ".3gp"),
}
SAVE = {"preview": 80, "working": 85, "frame": 90}  # JPEG quality: previews are for the eye, frames are evidence


@dataclass(frozen=True, slots=True)
class Intake:
    """What came of it. pictures : each once, frames of videos after the pictures they came with. problems : one sentence for
    each file that was not taken. remarks : what was odd about those that were, copies named included.
    """

    pictures: tuple[Picture, ...]
    videos: tuple[Video, ...]
    problems: tuple[Problem, ...]
    remarks: tuple[Remark, ...]


@dataclass(frozen=True)
class _Bench:
    """What every file is worked with."""

    folder: PictureFolder
    limits: Limits
    scales: Scales
    tables: str
    large: threading.Lock
    before: set[str]


def take_in(
    paths: Path | str | Iterable[Path | str],
    folder: PictureFolder,
    *,
    tables: Tables | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Intake:
    """Take in files, folders and zips of pictures and videos.

    workers : files worked on at once; the number of cores when None. progress : called with files done, files in all and the
    name of the one just done, in the calling thread. The result is in order of the paths, whatever was done first. Never
    raises for what a file holds; raises BadInput only for a table that cannot be read.
    """
    given = [Path(paths)] if isinstance(paths, (str, Path)) else [Path(path) for path in paths]
    tables = tables or load_tables()
    bench = _Bench(folder, limits(tables), scales(tables), tables.version, threading.Lock(), set())
    found = list(sources(given, bench.limits))
    work = [item for item in found if isinstance(item, Source)]
    done = _all(work, bench, workers or os.cpu_count() or 1, progress)
    return _gathered([item if isinstance(item, Problem) else next(done) for item in found])


def _all(work: Sequence[Source], bench: _Bench, workers: int, progress: Progress | None) -> Iterator[Picture | Video | Problem]:
    results: dict[int, Picture | Video | Problem] = {}
    waiting = iter(enumerate(work))
    running: dict[Future[Picture | Video | Problem], int] = {}
    with ThreadPoolExecutor(workers) as pool:
        while len(results) < len(work):
            while len(running) < workers + 1 and (item := next(waiting, None)) is not None:
                running[pool.submit(_one, item[1], bench)] = item[0]
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                at = running.pop(future)
                results[at] = future.result()
                if progress is not None:
                    progress(len(results), len(work), work[at].name)
        kept = {item.sha256 for item in results.values() if not isinstance(item, Problem)}
        list(pool.map(bench.folder.settle, sorted(kept - bench.before)))
    return (results[at] for at in range(len(work)))


def _gathered(results: Iterable[Picture | Video | Problem]) -> Intake:
    pictures: dict[str, Picture] = {}
    videos: dict[str, Video] = {}
    problems, remarks = [], []
    for item in results:
        if isinstance(item, Problem):
            problems.append(item)
            continue
        first = pictures.get(item.sha256) or videos.get(item.sha256)
        if first is not None:
            remarks.append(Remark("same-file", item.name, f"is the same file as {first.name}, byte for byte; it counts once"))
            continue
        remarks += item.remarks
        if isinstance(item, Video):
            videos[item.sha256] = item
            for frame in item.frames:
                pictures.setdefault(frame.sha256, frame)
        else:
            pictures[item.sha256] = item
    return Intake(tuple(pictures.values()), tuple(videos.values()), tuple(problems), tuple(remarks))


def _one(source: Source, bench: _Bench) -> Picture | Video | Problem:
    try:
        with source.open() as stream:
            return _taken(source, stream, bench)
    except BadInput as refused:
        text = "; ".join(problem.text for problem in refused.problems)
        return Problem(source.name, text, refused.problems[0].code)
    except Exception as fault:  # disks, zips and decoders raise what they like; one file must not stop the others
        reason = " ".join(str(fault).split())[:120] or type(fault).__name__
        return Problem(source.name, f"cannot be read ({reason}); copy or send it again")


def _taken(source: Source, stream: BinaryIO, bench: _Bench) -> Picture | Video:
    head = cast(BufferedReader, stream).peek(HEAD)[:HEAD]
    if not head:
        raise BadInput("is empty (0 bytes); copy or send it again from the phone")
    kind = kind_of(head)
    if kind in PICTURES:
        return _picture(source, kind, _bytes(source, stream, bench.limits.picture_bytes), bench)
    if kind == VIDEO:
        return _video(source, stream, bench)
    if kind == ZIP:
        raise BadInput("is a zip inside a zip; unpack it and send its pictures in one zip")
    raise BadInput(f"is {kind}; {_ASK}")


def _bytes(source: Source, stream: BinaryIO, most: float) -> bytes:
    data = stream.read(min(source.length, int(most)) + 1)
    if len(data) > most:
        raise BadInput(f"is a picture of more than {most / 1e6:.0f} MB; save it smaller")
    if len(data) != source.length:
        raise BadInput(f"holds {len(data)} bytes where {source.length} were told; let it finish arriving, then try again")
    return data


def _picture(source: Source, kind: str, data: bytes, bench: _Bench) -> Picture:
    sha256 = hashlib.sha256(data).hexdigest()
    known = _known(sha256, bench)
    if isinstance(known, Picture):
        return known.named(source.name)
    decoded = _decoded(data, kind, source.name, bench)
    header = decoded.header
    remarks = header.remarks + _mislabelled(source.name, kind)
    size = (header.width, header.height)
    picture = _judged(source.name, sha256, kind, size, len(data), header.capture, decoded.pixels, bench, header.saved, remarks)
    bench.folder.put(data, sha256)
    bench.folder.put_made(sha256, "facts", written(picture, bench.tables))
    return picture


def _known(sha256: str, bench: _Bench) -> Picture | Video | None:
    """The facts of an earlier intake; they are written last, so where they are the rest is."""
    if not (bench.folder.exists(sha256) and bench.folder.exists(sha256, "facts")):
        return None
    facts = facts_of(bench.folder.get(sha256, "facts"), bench.tables)
    if facts is None or facts.length != bench.folder.path(sha256).stat().st_size:
        return None
    bench.before.add(sha256)
    return facts


def _decoded(data: bytes, kind: str, where: str, bench: _Bench) -> Decoded:
    """Large pictures that must be decoded whole take turns, so that memory does not grow with the number of workers."""
    opened = Opened(data, kind, where, bench.limits)
    turns = opened.header.whole and opened.header.pixels > bench.limits.pixels_large
    with bench.large if turns else nullcontext():
        return opened.decoded(int(bench.limits.judge_px))


def _judged(
    name: str,
    sha256: str,
    kind: str,
    size: tuple[int, int],
    length: int,
    capture: Capture,
    pixels: Pixels,
    bench: _Bench,
    saved: float | None = None,
    remarks: tuple[Remark, ...] = (),
) -> Picture:
    small = resized(pixels, int(bench.limits.preview_px))
    grey = np.asarray(cv2.cvtColor(small, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    if float(cv2.meanStdDev(grey)[1][0, 0]) < bench.limits.flat_spread:
        text = "shows one even colour and nothing else; uncover the lens, or switch the lamp on, and take it again"
        raise BadInput([Problem("", text, ONE_COLOUR)])
    verdict = judge(pixels, bench.limits, bench.scales, size=size, saved=saved)
    bench.folder.put_made(sha256, "preview", encoded(small, SAVE["preview"]))
    return Picture(name, sha256, kind, *size, length, capture, verdict, *bits_of(grey), remarks)


def _mislabelled(name: str, kind: str) -> tuple[Remark, ...]:
    ending = PurePosixPath(name).suffix.lower()
    if ending in _ENDINGS[kind]:
        return ()
    holds = "a video" if kind == VIDEO else f"a {kind} picture"
    return (Remark("mislabelled", name, f"holds {holds} whatever its name says; it was read as what it is"),)


def _video(source: Source, stream: BinaryIO, bench: _Bench) -> Video:
    with bench.folder.arriving(stream, bench.limits.single_bytes) as (path, sha256):
        known = _known(sha256, bench)
        if isinstance(known, Video):
            return known.named(source.name)
        header = video_header(path, source.name, bench.limits)
        length = path.stat().st_size
        taken = tuple(_frames(path, source.name, sha256, header.capture, bench))
        if not taken:
            raise BadInput("shows one even colour and nothing else; uncover the lens and film it again")
        remarks = video_remarks(header, source.name, len(taken), bench.limits) + _mislabelled(source.name, VIDEO)
        size = (header.width, header.height)
        video = Video(source.name, sha256, header.seconds, *size, length, header.codec, header.capture, taken, remarks)
        bench.folder.keep(path, sha256)
        bench.folder.put_made(sha256, "facts", written(video, bench.tables))
    return video


def _frames(path: Path, name: str, sha256: str, capture: Capture, bench: _Bench) -> Iterator[Picture]:
    for frame in frames(path, name, bench.limits):
        data = encoded(frame.pixels, SAVE["frame"])
        height, width = frame.pixels.shape[:2]
        title = frame_name(name, frame.at_s)
        own = hashlib.sha256(data).hexdigest()
        try:
            picture = _judged(title, own, "frame", (width, height), len(data), capture, frame.pixels, bench)
        except BadInput:
            continue
        bench.folder.put(data, own)
        yield replace(picture, of=sha256, at_s=frame.at_s)


def known_pictures(
    names: Mapping[str, str], folder: PictureFolder, *, tables: Tables | None = None
) -> dict[str, Picture | Problem]:
    """What is known of pictures whose originals are in the folder, by SHA-256; judged anew, and kept, where nothing is.

    names : SHA-256 -> name. A Problem for each that is gone or cannot be read.
    """
    tables = tables or load_tables()
    bench = _Bench(folder, limits(tables), scales(tables), tables.version, threading.Lock(), set())
    return {sha256: _known_or_judged(sha256, name, bench) for sha256, name in names.items()}


def _known_or_judged(sha256: str, name: str, bench: _Bench) -> Picture | Problem:
    try:
        known = _known(sha256, bench)
        if isinstance(known, Picture):
            return known.named(name)
        data = bench.folder.get(sha256)
        source = Source(name, len(data), lambda: bench.folder.path(sha256).open("rb"))
        kind = kind_of(data[:HEAD])
        if kind not in PICTURES:
            raise BadInput(f"is {kind}; {_ASK}")
        return _picture(source, kind, data, bench)
    except NotFound:
        return Problem(name, "is gone from the picture folder; take it in again")
    except BadInput as refused:
        return Problem(name, "; ".join(problem.text for problem in refused.problems))


def working_copy(sha256: str, folder: PictureFolder, *, tables: Tables | None = None) -> bytes:
    """A JPEG of the picture with its long side at most 1600 pixels, upright, without metadata; made on first use and kept.

    Raises NotFound where the original is not in the folder.
    """
    if folder.exists(sha256, "working"):
        return folder.get(sha256, "working")
    bounds = limits(tables or load_tables())
    data = folder.get(sha256)
    decoded = decode(data, kind_of(data[:HEAD]), sha256[:12], bounds, int(bounds.working_px))
    made = encoded(resized(decoded.pixels, int(bounds.working_px)), SAVE["working"])
    folder.put_made(sha256, "working", made)
    return made
