"""Doubts about the pictures of a dossier, as remarks: not on a zone, not to be read, too poor, misdated, edited, repeated."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta

from weldworth.core.remark import Remark
from weldworth.evidence.dates import date_remarks
from weldworth.evidence.likenesses import WITHIN
from weldworth.evidence.pictures import Shown
from weldworth.evidence.records import Answer, Finding, standing
from weldworth.exposure.history import Residence
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.ports import Seen
from weldworth.workbench.sights import sight_of

OWNED_YEARS = {"under-one": 1, "one-to-five": 5}
"""Answer to `owned` -> years within which the present owner got the vehicle."""
_MOST_NAMED = 5


def picture_remarks(dossier: Dossier, today: date, labels: Mapping[str, str]) -> list[Remark]:
    """The remarks on a dossier whose pictures were looked at. labels : zone -> what it is called."""
    shown = {one.file: one for one in dossier.shown}
    findings = [record for record in standing(dossier.records) if isinstance(record, Finding)]
    remarks = _unplaced(dossier, shown, findings)
    untold = [one.file for one in dossier.shown if one.zones and one.source is None]
    if untold:
        taken = "taken for the seller's own, or for old by its day, and trusted little; say where from"
        text = f"nobody said how {_named(untold)} came: {taken}"
        remarks.append(Remark("picture-source", "pictures", text))
    for name, seen in dossier.seen.items():
        remarks += remarks_on(dossier, name, seen, today, labels)
    return remarks


def remarks_on(dossier: Dossier, name: str, seen: Seen, today: date, labels: Mapping[str, str]) -> list[Remark]:
    """The remarks on one picture of a dossier, of which the machine saw this. labels : zone -> what it is called."""
    shown = next((one for one in dossier.shown if one.file == name), Shown(name))
    findings = [record for record in standing(dossier.records) if isinstance(record, Finding)]
    if _has_frames(dossier, name):
        return []
    return [*_of_one(name, seen, shown, labels), *_dates(dossier, name, seen, shown, findings, today)]


def _has_frames(dossier: Dossier, name: str) -> bool:
    """Whether it is a video whose frames stand beside it as pictures of their own."""
    return any(other.startswith(f"{name} at ") for other in dossier.pictures)


def _unplaced(dossier: Dossier, shown: dict[str, Shown], findings: Iterable[Finding]) -> list[Remark]:
    """What is on no zone cannot be weighed: asked for, with what the machine sees there."""
    named = {finding.picture for finding in findings}
    loose = [name for name in dossier.pictures if not (name in shown and shown[name].zones) and name not in named]
    loose = [name for name in loose if not _has_frames(dossier, name)]
    if not loose:
        return []
    rusty = [name for name in loose if (seen := dossier.seen.get(name)) and seen.whole is not None and _suggests(seen)]
    what = "1 picture is on no zone" if len(loose) == 1 else f"{len(loose)} pictures are on no zone"
    text = f"{what} and named by no finding, so not weighed: {_named(loose)}; put each on the zones that it shows"
    if rusty:
        text += f". The machine sees perhaps rust on {_named(rusty)}"
    return [Remark("picture-unplaced", "pictures", text)]


def _suggests(seen: Seen) -> bool:
    return seen.whole is not None and any(sign == "surface-rust" for sign, _ in seen.whole.signs)


def _of_one(name: str, seen: Seen, shown: Shown, labels: Mapping[str, str]) -> list[Remark]:
    """What is wrong with one picture itself."""
    if seen.problem:
        return [Remark("picture-unread", name, seen.problem)]
    remarks = [Remark("edited", name, text) for text in seen.edited]
    remarks += [Remark("alike", name, WITHIN[kind].format(other=other)) for other, kind in seen.repeats.items()]
    for zone in shown.zones:
        sight = sight_of(shown, zone, seen)
        if sight is None:
            size = f"{seen.width} x {seen.height}"
            text = f"region {shown.regions[zone]} of {labels.get(zone, zone)} leaves the picture of {size}; draw it anew"
            remarks.append(Remark("picture-region", name, text))
        elif not sight.usable:
            text = f"shows {labels.get(zone, zone)} too poorly to clear it (quality {sight.q:.2f}). {sight.words}"
            remarks.append(Remark("picture-poor", name, text))
    return remarks


def _dates(dossier: Dossier, name: str, seen: Seen, shown: Shown, findings: Iterable[Finding], today: date) -> list[Remark]:
    """The camera's day against what was said of the picture, of its findings, of the owner and of the vehicle's life."""
    if seen.problem:
        return []
    said = shown.taken_on or next((f.seen_on for f in findings if f.picture == name and f.seen_on is not None), None)
    remarks = date_remarks({name: seen.taken_on}, today=today, said=said, owned_since=owned_since(dossier))
    remarks = [remark for remark in remarks if remark.code != "no-date" or shown.taken_on is not None]
    if seen.taken_on is not None and seen.taken_on <= today and not remarks:
        remarks += _history(dossier, name, seen.taken_on)
    return remarks


def owned_since(dossier: Dossier) -> date | None:
    """The day before which the present owner cannot have had it, by the seller's answer; None where that is not known."""
    for record in standing(dossier.records):
        if isinstance(record, Answer) and record.question == "owned" and record.answer in OWNED_YEARS and record.given_on:
            return record.given_on - timedelta(days=round(365.25 * OWNED_YEARS[record.answer]))
    return None


def _history(dossier: Dossier, name: str, taken: date) -> list[Remark]:
    """Taken before the vehicle was built, or before it came to where it is said to be now."""
    year = taken.year + (taken.timetuple().tm_yday - 1) / 365.25
    model = dossier.vehicle.model_year
    if model is not None and taken.year < model - 1:
        return [Remark("clock", name, f"is dated {taken}, before the vehicle of {model} was built; the camera's clock is wrong")]
    last = max(dossier.residences, key=lambda one: one.start, default=None)
    if last is not None and len(dossier.residences) > 1 and year < last.start:
        text = f"is dated {taken}, before it came to {_place(last)} ({last.start:.0f}); it shows the metal of then"
        return [Remark("before-move", name, text)]
    return []


def _place(residence: Residence) -> str:
    return residence.place if isinstance(residence.place, str) else "where it is now"


def _named(names: list[str]) -> str:
    return ", ".join(names[:_MOST_NAMED]) + (f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else "")
