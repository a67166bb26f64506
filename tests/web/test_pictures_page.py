"""The Pictures screen without scripts: the grid and its filters, zones, findings on a part of a picture, taking back."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from visiting import Visit, Visitor, unpictured

from weldworth.web.pages.picture_large import likely_beside
from weldworth.web.picture_lines import Shown, next_zone, shown_pictures, walk
from weldworth.web.settings import Settings
from weldworth.workbench.desk import Desk
from weldworth.workbench.lines import PictureLine


def jpeg(seed: int, *, shade: int = 120, size: tuple[int, int] = (320, 240), **tags: object) -> bytes:
    """A picture of soft blotches with a grain."""
    rng = np.random.default_rng(seed)
    soft = Image.fromarray(rng.integers(0, 255, (6, 8, 3), dtype=np.uint8)).resize(size, Image.Resampling.BICUBIC)
    pixels = np.asarray(soft, float) * 0.5 + rng.normal(0, 14, (size[1], size[0], 3)) + shade - 64
    exif = Image.Exif()
    for tag, value in ((int(key.removeprefix("t")), value) for key, value in tags.items()):
        exif[tag] = value
    kept = io.BytesIO()
    Image.fromarray(pixels.clip(0, 255).astype(np.uint8)).save(kept, "JPEG", quality=92, exif=exif)
    return kept.getvalue()


@pytest.fixture
def id(desk: Desk, tmp_path: Path) -> str:
    """A candidate with three pictures: a.jpg, b.jpg, dark.jpg."""
    found = desk.import_dossier(unpictured(tmp_path / "bare", "ostrel-forager"), desk.people.owner().id)
    for name, data in (("a.jpg", jpeg(1)), ("b.jpg", jpeg(2)), ("dark.jpg", jpeg(3, shade=5))):
        desk.add_picture(found, data, name, desk.people.owner().id)
    return found


def hashes(desk: Desk, id: str) -> list[str]:
    return [one.sha256 for one in desk.candidate(id).pictures]


def names(page: str) -> list[str]:
    return re.findall(r'<span class="name">([^<]+)</span>', page)


def test_three_pictures_go_on_a_zone_at_once_and_come_off_it_by_one_undo(visitor: Visitor, desk: Desk, id: str) -> None:
    answer = visitor.submit(f"/c/{id}/pictures/zones", {"picture": hashes(desk, id), "zones": "ot.hood"})
    assert [one.zones for one in desk.candidate(id).pictures] == [("ot.hood",)] * 3
    page = visitor.page(answer.headers["location"])
    assert "3 pictures: put on Hood" in page
    seqs = re.search(r'name="seqs" value="([^"]+)"', page)
    assert seqs is not None
    visitor.submit(f"/c/{id}/pictures/undo", {"seqs": seqs.group(1)})
    assert [one.zones for one in desk.candidate(id).pictures] == [()] * 3


def test_a_picture_keeps_its_zones_when_another_is_added_and_loses_only_the_one_taken_off(
    visitor: Visitor, desk: Desk, id: str
) -> None:
    first = hashes(desk, id)[0]
    for fields in ({"zones": "ot.hood"}, {"zones": "ot.tailgate"}):
        visitor.submit(f"/c/{id}/pictures/zones", {"picture": first, **fields})
    assert desk.candidate(id).pictures[0].zones == ("ot.hood", "ot.tailgate")
    visitor.submit(f"/c/{id}/pictures/zones", {"picture": first, "zones": "ot.hood", "off": "yes"})
    assert desk.candidate(id).pictures[0].zones == ("ot.tailgate",)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"zones": "ot.hood"}, "nothing is ticked"),
        ({"picture": "first"}, "no zone is chosen"),
        ({"picture": "first", "zones": "ot.hod"}, "ot.hood"),
    ],
)
def test_pictures_put_nowhere_are_told_and_nothing_is_recorded(
    visitor: Visitor, desk: Desk, id: str, fields: dict[str, str], words: str
) -> None:
    first, before = hashes(desk, id)[0], desk.candidate(id).last
    given = {key: first if value == "first" else value for key, value in fields.items()}
    answer = visitor.submit(f"/c/{id}/pictures/zones", given)
    assert answer.status_code == 422 and words in answer.text.lower().replace("&#39;", "'")
    assert desk.candidate(id).last == before


def test_many_pictures_are_put_on_a_zone_all_or_none(desk: Desk, id: str) -> None:
    owner = desk.people.owner().id
    items = [
        (one.seq, {**one.facts, "zones": ["ot.hood" if n else "ot.nowhere"]}) for n, one in enumerate(desk.candidate(id).pictures)
    ]
    before = desk.candidate(id).last
    with pytest.raises(Exception, match=r"ot\.nowhere"):
        desk.correct_all(id, items[::-1], owner)
    assert desk.candidate(id).last == before


def test_the_grid_shows_what_is_on_no_zone_of_a_station_poor_or_remarked_on(visitor: Visitor, desk: Desk, id: str) -> None:
    desk.add_picture(id, jpeg(7, t305="GIMP 2.10"), "edited.jpg", desk.people.owner().id)
    visitor.submit(f"/c/{id}/pictures/zones", {"picture": hashes(desk, id)[0], "zones": "ot.hood"})
    grid = f"/c/{id}/pictures"
    assert names(visitor.page(grid)) == ["a.jpg", "b.jpg", "dark.jpg", "edited.jpg"]
    assert names(visitor.page(grid + "?show=bare")) == ["b.jpg", "dark.jpg", "edited.jpg"]
    assert names(visitor.page(grid + "?zone=ot.hood")) == ["a.jpg"]
    assert names(visitor.page(grid + "?zone=at+outside")) == ["a.jpg"]
    assert names(visitor.page(grid + "?zone=at+underneath")) == []
    assert "dark.jpg" in names(visitor.page(grid + "?show=poor"))
    assert names(visitor.page(grid + "?show=odd")) == ["edited.jpg"]


def test_a_picture_says_how_good_it_is_and_what_would_make_it_better(visitor: Visitor, desk: Desk, id: str) -> None:
    page = visitor.page(f"/c/{id}/pictures/{hashes(desk, id)[2]}")
    assert "Too dark" in page and "Quality 0." in page


def test_a_picture_that_repeats_another_is_remarked_on(visitor: Visitor, desk: Desk, id: str) -> None:
    whole = Image.open(io.BytesIO(jpeg(40, size=(800, 600))))
    for name, part in (("whole.jpg", whole), ("yard.jpg", whole.transpose(Image.Transpose.FLIP_LEFT_RIGHT))):
        kept = io.BytesIO()
        part.save(kept, "JPEG", quality=90)
        desk.add_picture(id, kept.getvalue(), name, desk.people.owner().id)
    page = visitor.page(f"/c/{id}/pictures")
    assert "Looks like whole.jpg mirrored; left and right may be mixed up." in page


def test_before_and_next_stay_within_what_the_grid_shows(visitor: Visitor, desk: Desk, id: str) -> None:
    first, second, third = hashes(desk, id)
    visitor.submit(f"/c/{id}/pictures/zones", {"picture": second, "zones": "ot.hood"})
    page = visitor.page(f"/c/{id}/pictures/{first}?show=bare")
    assert f"/pictures/{third}?show=bare" in page and f"/pictures/{second}?show=bare" not in page
    assert 'id="before"' not in page


def test_a_sign_is_put_on_a_box_of_a_picture_and_weighed(visitor: Visitor, desk: Desk, id: str) -> None:
    first, zone = hashes(desk, id)[0], "ot.frame.rear_kick.l"
    before = desk.metal(id).belief.of(zone)["holed"]
    box = {"left": "20", "top": "30", "right": "120", "bottom": "110"}
    fields = {"large": first, "zone": zone, "sign": "hole", "source": "own-lift", "quality": "1", **box}
    answer = visitor.submit(f"/c/{id}/pictures/{first}/finding", fields)
    (finding,) = [entry for entry in desk.candidate(id).standing if entry.body.get("picture") == "a.jpg"]
    assert finding.body["region"] == [20, 30, 120, 110] and finding.body["quality"] == 1
    assert desk.metal(id).belief.of(zone)["holed"] > before + 0.3
    page = visitor.page(answer.headers["location"])
    assert '<rect class="line" x="20" y="30" width="100" height="80"/>' in page and "Undo" in page


def test_an_outline_is_kept_point_by_point_and_corrected_in_place(visitor: Visitor, desk: Desk, id: str) -> None:
    first = hashes(desk, id)[0]
    fields = {"large": first, "zone": "ot.hood", "sign": "bubbling", "source": "asked-picture", "outline": "10,20 90,25 60,80"}
    visitor.submit(f"/c/{id}/pictures/{first}/finding", fields)
    old = desk.candidate(id).standing[-1]
    assert old.body["outline"] == [[10, 20], [90, 25], [60, 80]]
    page = visitor.page(f"/c/{id}/pictures/{first}?change={old.seq}")
    assert 'value="10,20 90,25 60,80"' in page
    visitor.submit(f"/c/{id}/pictures/{first}/finding", {**fields, "seq": str(old.seq), "absent": "yes", "zone": "ot.tailgate"})
    now = [entry for entry in desk.candidate(id).standing if entry.kind == "finding" and entry.body.get("picture")]
    assert [(entry.body["zone"], entry.body["absent"], entry.replaces) for entry in now] == [("ot.tailgate", True, old.seq)]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"left": "20", "top": "30", "right": "400", "bottom": "110"}, "leaves the picture"),
        ({"left": "120", "top": "30", "right": "20", "bottom": "110"}, "is empty or leaves"),
        ({"left": "20", "top": "30"}, "lacks right and bottom"),
        ({"left": "twenty"}, "is not a number"),
        ({"outline": "10,20 90,25"}, "three or more points"),
        ({"outline": "10,20 90,25 9000,80"}, "leaves the picture"),
        ({"zone": ""}, "is missing"),
        ({"sign": "bubling"}, "bubbling"),
        ({"quality": "7"}, "0 to 1"),
        ({"seen_on": "2031-01-01"}, "in the future"),
    ],
)
def test_a_mark_that_cannot_be_is_told_beside_its_field_and_what_was_typed_is_kept(
    visitor: Visitor, desk: Desk, id: str, change: dict[str, str], words: str
) -> None:
    first, before = hashes(desk, id)[0], desk.candidate(id).last
    fields = {"zone": "ot.hood", "sign": "hole", "source": "own-ground", "note": "by the hinge", **change}
    answer = visitor.submit(f"/c/{id}/pictures/{first}/finding", fields)
    assert answer.status_code == 422 and words in answer.text
    assert 'value="by the hinge"' in answer.text
    assert desk.candidate(id).last == before


def test_a_finding_on_a_picture_is_taken_back_and_brought_back(visitor: Visitor, desk: Desk, id: str) -> None:
    first = hashes(desk, id)[0]
    fields = {"large": first, "zone": "ot.hood", "sign": "bubbling", "source": "asked-picture"}
    visitor.submit(f"/c/{id}/pictures/{first}/finding", fields)
    seq = str(desk.candidate(id).standing[-1].seq)
    answer = visitor.submit(f"/c/{id}/pictures/{first}/withdraw", {"seq": seq, "large": first})
    page = visitor.page(answer.headers["location"])
    assert "Taken back." in page and "No finding names this picture yet." in page
    seqs = re.search(r'name="seqs" value="([^"]+)"', page)
    assert seqs is not None
    visitor.submit(f"/c/{id}/pictures/undo", {"seqs": seqs.group(1), "large": first})
    assert "Bubbling</b> on Hood" in visitor.page(f"/c/{id}/pictures/{first}")


def test_what_is_not_on_the_picture_cannot_be_taken_back_from_it(visitor: Visitor, desk: Desk, id: str) -> None:
    first, second, _ = hashes(desk, id)
    fields = {"zone": "ot.hood", "sign": "bubbling", "source": "asked-picture"}
    visitor.submit(f"/c/{id}/pictures/{first}/finding", fields)
    seq = str(desk.candidate(id).standing[-1].seq)
    assert visitor.submit(f"/c/{id}/pictures/{second}/withdraw", {"seq": seq}).status_code == 404
    assert desk.candidate(id).standing[-1].seq == int(seq)


def test_two_who_mark_the_same_sign_at_once_are_told(visitor: Visitor, desk: Desk, id: str) -> None:
    first, revision = hashes(desk, id)[0], str(desk.candidate(id).revision)
    body = {"zone": "ot.hood", "sign": "hole", "source": "own-lift"}
    desk.record(id, "finding", body, "the partner")
    fields = {**body, "source": "asked-picture", "revision": revision}
    answer = visitor.submit(f"/c/{id}/pictures/{first}/finding", fields)
    assert answer.status_code == 409 and "Changed since this page was made" in answer.text
    assert f'href="/c/{id}/pictures">Look at it as it is now' in answer.text


def test_undo_leaves_what_others_recorded_alone(visitor: Visitor, desk: Desk, id: str) -> None:
    entry = desk.record(id, "note", {"text": "rang"}, "the partner")
    visitor.submit(f"/c/{id}/pictures/undo", {"seqs": f"{entry.seq}-99-x"})
    assert desk.candidate(id).standing[-1].seq == entry.seq


def test_who_only_looks_sees_all_and_can_change_nothing(desk: Desk, id: str, visit: Visit) -> None:
    first, owner = hashes(desk, id)[0], desk.people.owner()
    desk.record(id, "finding", {"zone": "ot.hood", "sign": "hole", "source": "own-lift", "picture": "a.jpg"}, owner.id)
    shut = visit(Settings(open_door=False))
    code = desk.people.invite("P. Looker", "read-only", owner.id)
    words = "a long sentence to come in with"
    fields = {"code": code, "name": "P. Looker", "password": words, "password_again": words}
    assert shut.submit("/welcome", fields, of="/welcome").status_code == 303
    page = shut.page(f"/c/{id}/pictures/{first}")
    assert "Hole</b> on Hood" in page and 'id="mark"' not in page and "Take back" not in page
    assert "Put them on it" not in shut.page(f"/c/{id}/pictures")
    fields = {"zone": "ot.hood", "sign": "hole", "source": "own-lift"}
    assert shut.submit(f"/c/{id}/pictures/{first}/finding", fields).status_code == 403


def test_a_picture_whose_file_is_gone_is_named_and_the_rest_is_shown(visitor: Visitor, desk: Desk, id: str) -> None:
    first = hashes(desk, id)[0]
    desk.pictures.path(first).unlink()
    assert "Is gone from the picture folder; take it in again." in visitor.page(f"/c/{id}/pictures")
    assert "Is gone from the picture folder" in visitor.page(f"/c/{id}/pictures/{first}")
    assert visitor.get(f"/c/{id}/pictures/{first}/large.jpg").status_code == 404


def test_an_empty_grid_says_how_to_begin_and_an_empty_filter_leads_back(visitor: Visitor, desk: Desk, id: str) -> None:
    bare = desk.open_candidate("Bare", "coupe", desk.people.owner().id)
    assert "No picture yet" in visitor.page(f"/c/{bare}/pictures") and "walk-round video" in visitor.page(f"/c/{bare}/pictures")
    assert "No picture shows that." in visitor.page(f"/c/{id}/pictures?zone=ot.hood")


def test_the_walk_takes_every_zone_once_station_by_station(desk: Desk, id: str) -> None:
    plan = desk.metal(id).plan
    zones = [zone for _, zones in walk(plan) for zone in zones]
    assert sorted(zone.id for zone in zones) == sorted(plan.index)
    assert [station for station, _ in walk(plan)] == ["outside", "inside", "underneath", "engine bay"]


def test_the_next_zone_is_the_next_that_no_picture_shows(desk: Desk, id: str) -> None:
    plan, order = desk.metal(id).plan, [zone for _, zones in walk(desk.metal(id).plan) for zone in zones]
    one = desk.candidate(id).pictures[0]
    desk.correct(id, one.seq, {**one.facts, "zones": [order[1].id, order[2].id]}, desk.people.owner().id)
    view = desk.candidate(id)
    assert next_zone(view, plan, order[0]) is order[3]
    assert next_zone(view, plan, order[-1]) is order[0]


def test_older_pictures_of_the_same_place_come_first_then_the_other_side(desk: Desk, id: str) -> None:
    plan = desk.metal(id).plan

    def shown(name: str, zone: str, day: str = "") -> Shown:
        facts = {"taken_on": day} if day else {}
        return Shown(PictureLine(1, name, name, (zone,), facts), ((zone, zone),), frozenset(), None, "", ())

    one = shown("one", "ot.rocker.outer.l", "2026-01-01")
    others = [
        shown("elsewhere", "ot.hood"),
        shown("twin", "ot.rocker.outer.r", "2019-01-01"),
        shown("newer", "ot.rocker.outer.l", "2025-01-01"),
        shown("older", "ot.rocker.outer.l", "2018-05-02"),
    ]
    found = likely_beside(one, [one, *others], plan)
    assert [(beside.one.line.name, beside.why) for beside in found] == [
        ("older", "the same place, 2 May 2018"),
        ("newer", "the same place, 1 Jan 2025"),
        ("twin", "the other side, 1 Jan 2019"),
    ]


def test_a_day_that_the_camera_wrote_is_offered_as_the_day_seen(visitor: Visitor, desk: Desk, id: str) -> None:
    """Exif DateTimeOriginal (CIPA DC-008, tag 0x9003) in the Exif directory."""
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2019:04:30 12:00:00"
    kept = io.BytesIO()
    Image.open(io.BytesIO(jpeg(11))).save(kept, "JPEG", exif=exif)
    desk.add_picture(id, kept.getvalue(), "dated.jpg", desk.people.owner().id)
    shown = shown_pictures(desk, desk.candidate(id), desk.metal(id).plan)[-1]
    assert shown.taken_on == datetime(2019, 4, 30, tzinfo=UTC).date()
    assert 'value="2019-04-30"' in visitor.page(f"/c/{id}/pictures/{shown.line.sha256}")


def test_the_metal_page_shows_the_pictures_of_a_zone_and_names_those_that_are_not_here(
    visitor: Visitor, desk: Desk, id: str
) -> None:
    first, second, _ = hashes(desk, id)
    visitor.submit(f"/c/{id}/pictures/zones", {"picture": first, "zones": "ot.hood"})
    fields = {"zone": "ot.hood", "sign": "bubbling", "source": "asked-picture"}
    visitor.submit(f"/c/{id}/pictures/{second}/finding", fields)
    page = visitor.page(f"/c/{id}/metal/ot.hood")
    assert f"/pictures/{first}?zone=ot.hood#easel" in page and f"/pictures/{second}?zone=ot.hood#easel" in page
    assert "Named, and not here" not in page
