"""From what the machine saw on the pictures to evidence about zones: whose word counts, and what has to be remarked on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from weldworth.belief.sight import Lexicon
from weldworth.evidence.pictures import Look, Region, Shown
from weldworth.evidence.records import Finding
from weldworth.tables import Tables
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.ports import PictureReader, Seen, Sight

Progress = Callable[[int, int], None]

SUGGESTED, ACCEPTED, OVERRULED, DISMISSED = "suggested", "accepted", "overruled", "dismissed"
UNTOLD, OLD, POOR = "beauty-picture", "old-picture", "poor-picture"
MIRRORED = "mirrored"
LEAST_PART = 400
"""Pixels: about a zone of so many across picture_quality.csv takes a tenth off for its size."""
"""How a picture is taken to have come where nobody said."""


@dataclass(frozen=True)
class Spoken:
    """What people said of one zone on one picture. kinds : sign -> its kind (clean, rust, ...)."""

    findings: tuple[Finding, ...]
    kinds: Mapping[str, str]

    def of(self, sign: str) -> Finding | None:
        """The finding that replaces the machine's word on this sign: of the same sign, or of clean metal."""
        same = [finding for finding in self.findings if finding.sign == sign]
        clean = [f for f in self.findings if self.kinds.get(f.sign) == "clean" and not f.absent]
        found = same or clean
        return found[-1] if found else None

    @property
    def silences(self) -> bool:
        """Whether the machine's silence says nothing any more: a person saw rust there, or a cover."""
        return any(self.kinds.get(f.sign) in ("rust", "cover", "coat") and not f.absent for f in self.findings)


def spoken_of(findings: Iterable[Finding], picture: str, zone: str, kinds: Mapping[str, str]) -> Spoken:
    """What people said of this zone on this picture. kinds : sign -> its kind."""
    return Spoken(tuple(f for f in findings if f.picture == picture and f.zone == zone), kinds)


def state_of(sign: str, zone: str, spoken: Spoken, shown: Shown) -> tuple[str, Finding | None]:
    """What became of a suggestion (suggested, accepted, overruled, dismissed), and the finding that decided it."""
    finding = spoken.of(sign)
    if finding is not None:
        return (ACCEPTED if finding.sign == sign and not finding.absent else OVERRULED), finding
    return (DISMISSED if shown.is_dismissed(sign, zone) else SUGGESTED), None


def source_of(shown: Shown, seen: Seen | None, today: date, after_years: float) -> str:
    """How the picture came: as told, else an old picture where it was taken over `after_years` ago, else the seller's own."""
    if shown.source is not None:
        return shown.source
    taken = taken_on(shown, seen, today)
    old = taken is not None and (today - taken).days > 365.25 * after_years
    return OLD if old else UNTOLD


def taken_on(shown: Shown, seen: Seen | None, today: date) -> date | None:
    """When it was taken: as told, else by the camera's clock where that does not run ahead."""
    clock = seen.taken_on if seen is not None else None
    return shown.taken_on or (clock if clock is not None and clock <= today else None)


def sight_of(shown: Shown, zone: str, seen: Seen) -> Sight | None:
    """What the machine saw of one zone: in its region, or in the whole picture where it was not marked."""
    return seen.at(shown.regions.get(zone))


def look_at(
    dossier: Dossier, eye: PictureReader, tables: Tables, *, workers: int = 2, progress: Progress | None = None
) -> Dossier:
    """The dossier with what the machine sees on each of its pictures; of two that repeat each other the
    likelier original counts.

    progress : told pictures done and pictures in all.
    """
    zones = {shown.file: tuple(shown.regions.values()) for shown in dossier.shown}
    marks: dict[str, list[Region]] = {}
    for record in dossier.records:
        if isinstance(record, Finding) and record.picture is not None and record.region is not None and record.quality is None:
            marks.setdefault(record.picture, []).append(record.region)

    def look(name: str, file: Path) -> Seen:
        seen = eye.see(file, zones.get(name, ()), tables)
        if not seen.problem:
            eye.prepare({seen.sha256: file}, tables)
        if name not in marks or seen.problem:
            return seen
        return eye.see(file, (*zones.get(name, ()), *(around(mark, seen) for mark in marks[name])), tables)

    seen: dict[str, Seen] = {}
    with ThreadPoolExecutor(workers) as pool:
        work = [pool.submit(look, name, file) for name, file in dossier.files.items()]
        for done, (name, future) in enumerate(zip(dossier.files, work, strict=True), start=1):
            seen[name] = future.result()
            if progress is not None:
                progress(done, len(work))
    readable = sorted(
        (name for name in dossier.files if not seen[name].problem), key=lambda name: _likely_first(name, seen[name])
    )
    repeats = eye.repeats({name: dossier.files[name] for name in readable}, tables)
    return replace(dossier, seen={name: replace(one, repeats=repeats.get(name, {})) for name, one in seen.items()})


def _likely_first(name: str, seen: Seen) -> tuple[bool, int, str]:
    """Which of two pictures that repeat each other is likelier the original, whatever the order they came in: one with the
    camera's day before one without, then the one of more pixels, then by name."""
    return seen.taken_on is None, -seen.width * seen.height, name


def around(mark: Region, seen: Seen) -> Region:
    """The part of the picture in which a sign was marked: its box grown about its middle to `LEAST_PART` pixels on each side, as
    far as the picture goes. A box drawn close about a hole says where it is, not how much of the zone the picture shows."""
    left, right = _grown(mark[0], mark[2], seen.width)
    top, bottom = _grown(mark[1], mark[3], seen.height)
    return left, top, right, bottom


def _grown(low: int, high: int, size: int) -> tuple[int, int]:
    length = min(size, max(high - low, LEAST_PART))
    start = min(max(0, (low + high - length) // 2), size - length)
    return start, start + length


def measured(dossier: Dossier, findings: Iterable[Finding], lex: Lexicon) -> list[Finding]:
    """The findings, those on a picture without a stated quality at the quality measured on it or about their region.

    Only findings by people who looked at a picture: who stood beside the metal saw more than it, and a picture called poor has
    its quality told already.
    """
    found = []
    for finding in findings:
        seen = dossier.seen.get(finding.picture or "")
        by_picture = finding.source != POOR and finding.source in lex.sources and lex.sources[finding.source].kind == "picture"
        part = around(finding.region, seen) if seen is not None and finding.region is not None else None
        sight = (seen.at(part) or seen.whole) if seen is not None else None
        if finding.quality is None and by_picture and sight is not None:
            finding = replace(finding, quality=sight.q, measured=True)
        found.append(finding)
    return found


def looks_of(dossier: Dossier, findings: Sequence[Finding], lex: Lexicon, today: date) -> list[Look]:
    """What the machine's word amounts to as evidence: one look for each zone on each picture.

    A person's finding takes the machine's place (`Spoken`); what was put aside is not heard; a picture that repeats an earlier
    one (`Seen.repeats`) says nothing new of a zone that the earlier one shows; a picture too poor to show anything cannot clear.
    """
    kinds = {id: sign.kind for id, sign in lex.signs.items()}
    shows = {shown.file: frozenset(shown.zones) for shown in dossier.shown}
    looks = []
    for shown in dossier.shown:
        seen = dossier.seen.get(shown.file)
        if seen is None or seen.problem:
            continue
        unmarked = sum(zone not in shown.regions for zone in shown.zones)
        for zone in shown.zones:
            sight = sight_of(shown, zone, seen)
            again = any(how == MIRRORED or zone in shows.get(other, ()) for other, how in seen.repeats.items())
            if sight is None or again:
                continue
            spoken = spoken_of(findings, shown.file, zone, kinds)
            settled = frozenset(sign for sign in kinds if state_of(sign, zone, spoken, shown)[0] != SUGGESTED)
            looks.append(
                Look(
                    zone=zone,
                    picture=shown.file,
                    source=source_of(shown, seen, today, lex.old["after_years"]),
                    quality=sight.q,
                    suggested=tuple(sign for sign, _ in sight.signs),
                    settled=settled,
                    silent=sight.usable and not spoken.silences,
                    sharing=1 if zone in shown.regions else unmarked,
                    seen_on=taken_on(shown, seen, today),
                    where=shown.where,
                )
            )
    return looks
