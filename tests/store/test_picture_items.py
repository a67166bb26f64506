"""What a dossier says of its pictures: [[picture]] read, refused with the remedy, and the same after a round trip."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest
from desks import desk_on
from written import BASIC, CENTRE, LEFT, PAIRED, TABLES, a_folder, read, refused

from weldworth.store.folder import read_dossier
from weldworth.store.sqlite import SqliteStore

HEAD = f'{BASIC}[[picture]]\nfile = "corner.jpg"\n'
ZONES = f'zones = ["{LEFT}", "{CENTRE}"]\n'
PICTURES = ("corner.jpg", "rear.jpg")


def test_a_picture_says_what_it_shows_where_it_came_from_and_what_was_put_aside(tmp_path: Path) -> None:
    more = f'regions = {{ "{LEFT}" = [120, 80, 640, 420] }}\nsource = "asked-picture"\ntaken_on = 2026-11-02\n'
    text = HEAD + ZONES + more + f'dismissed = ["staining", "scale:{LEFT}"]\nnote = "wet sill"\n'
    (one,) = read(a_folder(tmp_path, text, pictures=PICTURES)).shown
    assert (one.file, one.zones, one.source, one.taken_on) == ("corner.jpg", (LEFT, CENTRE), "asked-picture", date(2026, 11, 2))
    assert (one.regions, one.note, one.where) == ({LEFT: (120, 80, 640, 420)}, "wet sill", "candidate.toml: picture 1")
    assert [one.is_dismissed("staining", CENTRE), one.is_dismissed("scale", LEFT), one.is_dismissed("scale", CENTRE)] == [
        True,
        True,
        False,
    ]


REFUSALS = {
    "no file": (f"{BASIC}[[picture]]\n{ZONES}", "picture 1: file is missing; give the file's name in pictures/"),
    "a file that is not there": (HEAD.replace("corner", "cornr"), "file 'cornr.jpg' is not known here; nearest: 'corner.jpg'"),
    "a file twice": (HEAD + '[[picture]]\nfile = "pictures/corner.jpg"\n', "file 'corner.jpg' is described twice; put all"),
    "a zone": (HEAD + 'zones = ["pu.frame.tale"]', "zone 'pu.frame.tale' is not known here; nearest: 'pu.frame.tail'"),
    "a zone without its side": (HEAD + f'zones = ["{PAIRED}"]', f"zone '{PAIRED}' is on both sides; write '{PAIRED}.l'"),
    "zones that are one word": (HEAD + f'zones = "{LEFT}"', "give a list of words"),
    "a key": (HEAD + 'zone = "x"', "key 'zone' is not known here; nearest: 'zones'"),
    "a region of a zone that it does not show": (
        HEAD + ZONES + 'regions = { "pu.frame.horn.r" = [1, 2, 3, 4] }',
        "regions names 'pu.frame.horn.r', which is not among its zones",
    ),
    "a region that frames nothing": (
        HEAD + ZONES + f'regions = {{ "{LEFT}" = [9, 2, 3, 4] }}',
        "which is empty or upside down; give left, top, right, bottom",
    ),
    "a region of three numbers": (
        HEAD + ZONES + f'regions = {{ "{LEFT}" = [9, 2, 3] }}',
        f"regions has [9, 2, 3] for '{LEFT}'; give left, top, right, bottom",
    ),
    "a region below nought": (HEAD + ZONES + f'regions = {{ "{LEFT}" = [-1, 0, 5, 5] }}', "empty or upside down"),
    "regions as a list": (HEAD + ZONES + "regions = [1, 2, 3, 4]", "regions is [1, 2, 3, 4]; write a region for each zone"),
    "a source": (HEAD + 'source = "asked-pictur"', "source 'asked-pictur' is not known here; nearest: 'asked-picture'"),
    "a day ahead": (HEAD + "taken_on = 2031-01-01", "which is in the future"),
    "a dismissed sign that is never suggested": (
        HEAD + ZONES + 'dismissed = ["soft"]',
        "dismissed holds 'soft': suggested sign 'soft' is not known here",
    ),
    "a dismissal at a zone that it does not show": (
        HEAD + ZONES + 'dismissed = ["scale:pu.frame.horn.r"]',
        "but 'pu.frame.horn.r' is not among its zones",
    ),
}


@pytest.mark.parametrize("name", REFUSALS)
def test_a_mistake_about_a_picture_is_refused_with_the_remedy(name: str, tmp_path: Path) -> None:
    text, told = REFUSALS[name]
    lines = refused(a_folder(tmp_path, text, pictures=PICTURES))
    assert len(lines) == 1 and lines[0].startswith("candidate.toml: picture ") and told in lines[0], lines


def test_a_picture_described_without_a_pictures_folder_is_refused(tmp_path: Path) -> None:
    assert "pictures/ holds no picture; put it there" in refused(a_folder(tmp_path, HEAD))[0]


def test_what_is_said_of_pictures_comes_out_of_the_desk_as_it_went_in(tmp_path: Path) -> None:
    more = f'regions = {{ "{LEFT}" = [1, 2, 30, 40] }}\nsource = "video"\ntaken_on = "2026-10"\ndismissed = ["scale:{LEFT}"]\n'
    folder = a_folder(tmp_path, HEAD + ZONES + more, pictures=PICTURES)
    for number, name in enumerate(PICTURES):
        (folder / "pictures" / name).write_bytes(b"not looked into %d" % number)
    desk = desk_on(SqliteStore(tmp_path / "weldworth.sqlite"), tmp_path)
    id = desk.import_dossier(folder, desk.people.owner().id)
    out = desk.export_dossier(id, tmp_path / "out")
    first, again = (read_dossier(one, TABLES, today=desk.clock.today()) for one in (folder, out))
    assert again.shown == first.shown
    assert len(tomllib.loads((out / "candidate.toml").read_text())["picture"]) == 1, "a picture without a word has no item"
    assert [(one.name, one.zones) for one in desk.candidate(id).pictures] == [("corner.jpg", (LEFT, CENTRE)), ("rear.jpg", ())]
