"""The eye of the desk and of `weigh`: what the machine makes of a picture, looked at once and remembered.

What was seen is held under the picture's hash, the model's version, the tables it was judged by and the region; with a picture
folder it is kept there too, so that weighing again after a finding never decodes a picture.
"""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, replace
from datetime import date
from functools import lru_cache
from math import ceil
from pathlib import Path
from typing import Any

from weldworth.core.errors import BadInput, NotFound
from weldworth.evidence.pictures import Region
from weldworth.picture.decode import Decoded, Header, Opened, encoded
from weldworth.picture.doubts import software_remarks
from weldworth.picture.facts import frame_name
from weldworth.picture.folder import PictureFolder
from weldworth.picture.intake import SAVE
from weldworth.picture.kinds import HEAD, PICTURES, VIDEO, kind_of
from weldworth.picture.likes import Likes
from weldworth.picture.limits import limits
from weldworth.picture.quality import judge, scales
from weldworth.picture.rust import look, model_version
from weldworth.picture.video import frames
from weldworth.tables import Tables
from weldworth.workbench.held import Held
from weldworth.workbench.ports import Seen, Sight

SHAPE = 2
"""Of what is kept; what has another shape is seen anew."""
JUDGED_BY = ("picture_quality.csv", "picture_software.csv", "rust_grades.csv", "rust_signs.csv")
VIDEO_WORDS = "is a video: only its frames are looked at, which a desk takes out on import; put those on their zones"
REPEATS = ("same", "mirrored", "part")
_HELD, _SETS = 4096, 256


class Eye:
    """Looks at pictures. Safe to use from several threads. folder : where it keeps what it saw, or None.

    seen : what it has in memory of earlier looks; eyes that are given the same share it.
    """

    def __init__(self, folder: PictureFolder | None = None, seen: dict[tuple[str, str], Seen] | None = None) -> None:
        self.folder = folder
        self._held = seen if seen is not None else {}
        self._known: dict[Path, tuple[tuple[int, int], str]] = {}
        self._lock = threading.Lock()
        self._likes = Likes(folder)
        self._repeats: Held[Mapping[str, Mapping[str, str]]] = Held(_SETS)

    @property
    def version(self) -> str:
        """The version of the model."""
        return model_version()

    def see(self, file: Path, regions: Sequence[Region], tables: Tables) -> Seen:
        """Look at one picture and at regions of it, or remember what was seen. Never raises for what the file holds."""
        try:
            return self._seen(file, regions, tables)
        except OSError as fault:
            return Seen("", problem=f"cannot be opened ({fault.strerror}); put the picture back")

    def knows(self, file: Path, tables: Tables) -> bool:
        """Whether this picture was looked at already, so that seeing it again takes no time."""
        with suppress(OSError):
            sha256, _ = self._hash(file)
            basis = f"{SHAPE}/{self.version}/{_basis(tables)}"
            return (self._held.get((sha256, basis)) or self._kept(sha256, basis)) is not None
        return True

    def _seen(self, file: Path, regions: Sequence[Region], tables: Tables) -> Seen:
        sha256, data = self._hash(file)
        basis = f"{SHAPE}/{self.version}/{_basis(tables)}"
        known = self._held.get((sha256, basis)) or self._kept(sha256, basis)
        missing = [region for region in regions if known is None or (region not in known.parts and _fits(region, known))]
        if known is None or missing:
            seen = _seen(sha256, data if data is not None else file.read_bytes(), missing, known, tables)
            with self._lock:
                now = self._held.get((sha256, basis))
                known = replace(seen, parts={**(now.parts if now else {}), **seen.parts})
                self._keep(known, basis)
        return known

    def frames(self, file: Path, name: str, tables: Tables) -> list[tuple[str, bytes]]:
        """The frames of a video as JPEG pictures with their names, the same as intake takes out; empty for what is no video."""
        with file.open("rb") as stream:
            if kind_of(stream.read(HEAD)) != VIDEO:
                return []
        found = []
        with suppress(BadInput):
            for frame in frames(file, name, limits(tables)):
                found.append((frame_name(name, frame.at_s), encoded(frame.pixels, SAVE["frame"])))
        return found

    def repeats(self, files: Mapping[str, Path], tables: Tables) -> Mapping[str, Mapping[str, str]]:
        """Name -> earlier names that it repeats -> how: the same, mirrored, or a part of one another."""
        sha256_of = {name: self._hash(file)[0] for name, file in files.items()}
        return self._repeats.get(tuple(sha256_of.items()), lambda: self._repeating(files, sha256_of, tables))

    def _repeating(
        self, files: Mapping[str, Path], sha256_of: Mapping[str, str], tables: Tables
    ) -> Mapping[str, Mapping[str, str]]:
        self.prepare({sha256_of[name]: file for name, file in files.items()}, tables)
        found: dict[str, dict[str, str]] = {}
        names = list(files)
        for at, name in enumerate(names):
            again = {other: "same" for other in names[:at] if sha256_of[other] == sha256_of[name]}
            before = {sha256_of[other]: files[other] for other in names[:at] if other not in again}
            likes = self._likes.of(sha256_of[name], before, files[name], tables)
            again |= {
                other: likes[sha256_of[other]].kind
                for other in names[:at]
                if sha256_of[other] in likes and likes[sha256_of[other]].kind in REPEATS
            }
            if again:
                found[name] = again
        return found

    @property
    def ready(self) -> int:
        """How many pictures were made ready to be compared."""
        return self._likes.ready

    def prepare(self, files: Mapping[str, Path], tables: Tables, most: int | None = None) -> int:
        """Make ready to compare these pictures (hash -> file), at most so many; how many were not ready yet."""
        return self._likes.prepare(files, tables, most)

    def elsewhere(self, sha256: str, file: Path, others: Mapping[str, Path], tables: Tables) -> Mapping[str, str]:
        """Of other pictures (hash -> file) that were made ready: those it is like -> how (same, mirrored, part, place)."""
        self.prepare({sha256: file}, tables)
        return {other: like.kind for other, like in self._likes.of(sha256, others, file, tables).items()}

    def _hash(self, file: Path) -> tuple[str, bytes | None]:
        """SHA-256 of the file, and its bytes where it had to be read for that."""
        stat = file.stat()
        stamp = (stat.st_mtime_ns, stat.st_size)
        known = self._known.get(file)
        if known is not None and known[0] == stamp:
            return known[1], None
        if self.folder is not None and file == self.folder.root / "originals" / file.name[:2] / file.name:
            return file.name, None
        data = file.read_bytes()
        sha256 = hashlib.sha256(data).hexdigest()
        self._known[file] = (stamp, sha256)
        return sha256, data

    def _kept(self, sha256: str, basis: str) -> Seen | None:
        if self.folder is None or not self.folder.exists(sha256, "seen"):
            return None
        seen = seen_of(self.folder.get(sha256, "seen"), basis)
        if seen is not None:
            self._held[sha256, basis] = seen
        return seen

    def _keep(self, seen: Seen, basis: str) -> None:
        if len(self._held) >= _HELD:
            self._held.pop(next(iter(self._held)))
        self._held[seen.sha256, basis] = seen
        if self.folder is not None:
            self.folder.put_made(seen.sha256, "seen", written(seen, basis))


@lru_cache(maxsize=8)
def _basis(tables: Tables) -> str:
    """A digest of the tables that what is seen rests on: a change of any other leaves it as it is."""
    digest = hashlib.sha256()
    for name in JUDGED_BY:
        digest.update(tables.path(name).read_bytes())
    return digest.hexdigest()[:12]


def _seen(sha256: str, data: bytes, regions: Sequence[Region], before: Seen | None, tables: Tables) -> Seen:
    """Look at the regions, and at the whole where that was not done `before`. How fine the pixels are that are looked at depends
    on the picture and the region alone, so that it does not matter what was asked for first."""
    kind = kind_of(data[:HEAD])
    if kind == VIDEO:
        return Seen(sha256, problem=VIDEO_WORDS)
    if kind not in PICTURES:
        return Seen(sha256, problem=f"is {kind if data else 'empty'}, not a picture; give JPEG, PNG, WebP, TIFF, HEIC or AVIF")
    bounds = limits(tables)
    try:
        opened = Opened(data, kind, "picture", bounds)
        known = before.whole if before is not None else None
        whole = known or _sight(opened.decoded(int(bounds.working_px)), None, tables)
        parts = _parts(opened, regions, tables)
    except (BadInput, NotFound) as error:
        problems = error.problems if isinstance(error, BadInput) else ()
        return Seen(sha256, problem="; ".join(problem.text for problem in problems) or str(error))
    header = opened.header
    capture = header.capture
    return Seen(
        sha256=sha256,
        width=header.width,
        height=header.height,
        taken_on=capture.taken_at.date() if capture.taken_at is not None else None,
        camera=capture.camera,
        edited=tuple(remark.text for remark in software_remarks({sha256: capture}, tables)),
        whole=whole,
        parts={**(before.parts if before is not None else {}), **parts},
    )


def _parts(opened: Opened, regions: Sequence[Region], tables: Tables) -> dict[Region, Sight]:
    """The sights of the regions that lie inside the picture, each from pixels as fine as it needs."""
    header, enough = opened.header, limits(tables).judge_px
    by_shrink: dict[int, list[Region]] = {}
    for region in regions:
        if _fits(region, header):
            spare = max(region[2] - region[0], region[3] - region[1]) / enough
            by_shrink.setdefault(8 if spare >= 8 else 4 if spare >= 4 else 2 if spare >= 2 else 1, []).append(region)
    parts: dict[Region, Sight] = {}
    for shrink, alike in by_shrink.items():
        decoded = opened.decoded(None if shrink == 1 else ceil(max(header.width, header.height) / shrink))
        parts |= {region: _sight(decoded, region, tables) for region in alike}
    return parts


def _fits(region: Region, size: Seen | Header) -> bool:
    left, top, right, bottom = region
    return 0 <= left < right <= size.width and 0 <= top < bottom <= size.height


def _within(region: Region, decoded: Decoded) -> Region:
    """The region in the decoded pixels, which may be fewer than the picture's."""
    high, wide = decoded.pixels.shape[:2]
    across, down = wide / decoded.header.width, high / decoded.header.height
    left, top, right, bottom = region
    x, y = min(int(left * across), wide - 1), min(int(top * down), high - 1)
    return x, y, max(x + 1, min(wide, ceil(right * across))), max(y + 1, min(high, ceil(bottom * down)))


def _sight(decoded: Decoded, region: Region | None, tables: Tables) -> Sight:
    header, pixels, bounds = decoded.header, decoded.pixels, limits(tables)
    verdict = judge(pixels, bounds, scales(tables), region, size=(header.width, header.height), saved=header.saved)
    found = look(pixels, _within(region, decoded) if region is not None else None, tables=tables)
    return Sight(
        region=region,
        q=verdict.q,
        usable=verdict.usable,
        faults=verdict.faults,
        words=verdict.words,
        area_percent=found.area_percent,
        ri=found.ri,
        d610=found.d610,
        chance=found.chance,
        signs=found.signs,
    )


def written(seen: Seen, basis: str) -> bytes:
    """What was seen as JSON, with what it rests on."""
    parts = [asdict(sight) for sight in seen.parts.values()]
    taken = seen.taken_on.isoformat() if seen.taken_on else None
    return json.dumps({"basis": basis, **asdict(seen), "taken_on": taken, "parts": parts}).encode()


def seen_of(data: bytes, basis: str) -> Seen | None:
    """What was seen again; None where it rests on another model or other tables, or is damaged, and must be seen anew."""
    try:
        raw: dict[str, Any] = json.loads(data)
        if raw.pop("basis") != basis:
            return None
        parts = [_sight_of(part) for part in raw.pop("parts")]
        whole = raw.pop("whole")
        taken = raw.pop("taken_on")
        return Seen(
            **{**raw, "edited": tuple(raw["edited"])},
            taken_on=date.fromisoformat(taken) if taken else None,
            whole=_sight_of(whole) if whole is not None else None,
            parts={part.region: part for part in parts if part.region is not None},
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        return None


def _sight_of(raw: Mapping[str, Any]) -> Sight:
    region = tuple(raw["region"]) if raw["region"] is not None else None
    signs = tuple((str(sign), float(chance)) for sign, chance in raw["signs"])
    return Sight(**{**raw, "region": region, "faults": tuple(raw["faults"]), "signs": signs})
