"""What a picture shows, as written in candidate.toml or on a page: [[picture]] read and refused with its reasons."""

from __future__ import annotations

from collections.abc import Mapping

from weldworth.core.words import nearest
from weldworth.evidence.pictures import Region, Shown, dismissal
from weldworth.workbench.fields import LONGEST_WORD, Fields, listed, shown, spelled
from weldworth.workbench.recording import RecordReader

PICTURE_ITEM_KEYS = ("file", "zones", "regions", "source", "taken_on", "dismissed", "note")
_CORNERS = "give left, top, right, bottom in whole pixels, such as [120, 80, 640, 420]"


def read_picture(reader: RecordReader, number: int, values: Mapping[str, object]) -> Shown | None:
    """One picture, or None with its problems recorded. Zones are checked against the plan, the file against pictures/."""
    item = reader.item("picture", number, values, PICTURE_ITEM_KEYS)
    before = len(reader.problems)
    file = _file(reader, item)
    zones = tuple(zone for zone in dict.fromkeys(item.words("zones")) if reader.known_zone(item, zone))
    regions = _regions(item, zones)
    source = item.word("source", reader.known.sources)
    taken_on, note = item.day("taken_on"), item.text("note") or ""
    dismissed = _dismissed(reader, item, zones)
    if len(reader.problems) > before or file is None:
        return None
    return Shown(file, zones, regions, source, taken_on, dismissed, note, item.where)


def _file(reader: RecordReader, item: Fields) -> str | None:
    """The picture's name, which must be there and described once."""
    name = item.text("file", required=True, remedy="give the file's name in pictures/")
    bare = name.removeprefix("pictures/") if name else None
    pictures = reader.known.pictures
    if bare is None:
        return None
    if bare not in pictures:
        empty = f"file {shown(bare)} is not there: pictures/ holds no picture; put it there or take this item out"
        item.refuse(spelled("file", bare, pictures) if pictures else empty)
        return None
    if bare in reader.described:
        item.refuse(f"file {shown(bare)} is described twice; put all of its zones into one item")
        return None
    reader.described.add(bare)
    return bare


def _regions(item: Fields, zones: tuple[str, ...]) -> dict[str, Region]:
    """Zone -> where in the picture, for zones that the picture shows."""
    value = item.values.get("regions")
    if value is None:
        return {}
    if not isinstance(value, Mapping):
        item.refuse(f'regions is {shown(value)}; write a region for each zone, such as {{ "mc.hood" = [120, 80, 640, 420] }}')
        return {}
    found: dict[str, Region] = {}
    for zone, corners in value.items():
        whole = isinstance(corners, list) and len(corners) == 4
        if zone not in zones:
            near = nearest(zone, zones) if len(zone) <= LONGEST_WORD else None
            item.refuse(
                f"regions names {shown(zone)}, which is not among its zones; "
                + (f"nearest: {near!r}" if near else "name it there")
            )
        elif not whole or not all(isinstance(n, int) and not isinstance(n, bool) for n in corners):
            item.refuse(f"regions has {shown(corners)} for {zone!r}; {_CORNERS}")
        elif not (0 <= corners[0] < corners[2] and 0 <= corners[1] < corners[3]):
            item.refuse(f"regions has {shown(corners)} for {zone!r}, which is empty or upside down; {_CORNERS}")
        else:
            found[zone] = (corners[0], corners[1], corners[2], corners[3])
    return found


def _dismissed(reader: RecordReader, item: Fields, zones: tuple[str, ...]) -> frozenset[tuple[str, str]]:
    """The suggestions that a person put aside."""
    found = set()
    for text in item.words("dismissed"):
        sign, zone = dismissal(text)
        if sign not in reader.known.suggested:
            item.refuse(f"dismissed holds {shown(text)}: " + spelled("suggested sign", sign, reader.known.suggested))
        elif zone and zone not in zones:
            remedy = listed(zones) if zones else "name it there"
            item.refuse(f"dismissed holds {shown(text)}, but {shown(zone)} is not among its zones; {remedy}")
        else:
            found.add((sign, zone))
    return frozenset(found)
