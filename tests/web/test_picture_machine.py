"""What the machine sees, as the page of one picture shows it: grades, suggestions decided, where a zone is, how it came.

Pictures: tests/picture/data/rust_credits.md.
"""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from visiting import Visitor, unpictured

from weldworth.web.pages.picture_machine import levels_of
from weldworth.workbench.desk import Desk
from weldworth.workbench.machine_findings import MachineFindings

DATA = Path(__file__).resolve().parents[1] / "picture/data"
RUSTY, ZONE = DATA / "rust_phone_41.jpg", "ot.rocker.outer.l"


@pytest.fixture
def id(desk: Desk, tmp_path: Path) -> str:
    found = desk.import_dossier(unpictured(tmp_path / "bare", "ostrel-forager"), desk.people.owner().id)
    desk.add_picture(found, RUSTY.read_bytes(), RUSTY.name, desk.people.owner().id, zones=[ZONE], source="asked-picture")
    return found


@pytest.fixture
def sha(desk: Desk, id: str) -> str:
    return desk.candidate(id).pictures[0].sha256


def seen(desk: Desk, id: str, sha: str) -> MachineFindings:
    return desk.machine_findings(id, sha)


def state(desk: Desk, id: str, sha: str, sign: str = "surface-rust") -> str:
    (sight,) = seen(desk, id, sha).zones
    return next(one.state for one in sight.suggestions if one.sign == sign)


def test_a_suggestion_says_how_sure_it_is_and_what_its_reliability_was_measured_on(visitor: Visitor, id: str, sha: str) -> None:
    part = visitor.page(f"/c/{id}/pictures/{sha}/machine")
    assert re.search(r"Suggested: surface rust</b> (9\d|over 99) in 100", part)
    assert "Reliability measured on photographs." in part
    assert "ISO 4628-3" in part and "ASTM D610" in part


def test_the_page_without_scripts_holds_the_same_when_asked(visitor: Visitor, id: str, sha: str) -> None:
    assert "Suggested: surface rust" not in visitor.page(f"/c/{id}/pictures/{sha}")
    assert "Suggested: surface rust" in visitor.page(f"/c/{id}/pictures/{sha}?machine=1")


def test_a_suggestion_is_accepted_by_one_button_and_undone(visitor: Visitor, desk: Desk, id: str, sha: str) -> None:
    fields = {"large": sha, "way": "accept", "at": ZONE, "sign": "surface-rust"}
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/suggestion", fields)
    made = desk.candidate(id).standing[-1]
    assert (made.kind, made.body["sign"], made.body["picture"]) == ("finding", "surface-rust", RUSTY.name)
    assert state(desk, id, sha) == "accepted"
    page = visitor.page(answer.headers["location"])
    assert "Surface rust</b> on Rocker" in page
    seqs = re.search(r'name="seqs" value="([^"]+)"', page)
    assert seqs is not None
    visitor.submit(f"/c/{id}/pictures/undo", {"seqs": seqs.group(1), "large": sha})
    assert state(desk, id, sha) == "suggested"


def test_a_suggestion_is_put_aside_and_brought_back(visitor: Visitor, desk: Desk, id: str, sha: str) -> None:
    fields = {"large": sha, "at": ZONE, "sign": "surface-rust"}
    visitor.submit(f"/c/{id}/pictures/{sha}/suggestion", {**fields, "way": "dismiss"})
    assert state(desk, id, sha) == "dismissed"
    assert "Bring back" in visitor.page(f"/c/{id}/pictures/{sha}/machine")
    visitor.submit(f"/c/{id}/pictures/{sha}/suggestion", {**fields, "way": "restore"})
    assert state(desk, id, sha) == "suggested"


def test_another_sign_in_place_of_a_suggestion_puts_it_aside_and_one_undo_takes_both_back(
    visitor: Visitor, desk: Desk, id: str, sha: str
) -> None:
    fields = {"large": sha, "zone": ZONE, "sign": "staining", "source": "asked-picture", "instead": f"surface-rust:{ZONE}"}
    fields["sign"] = "patch"
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/finding", fields)
    assert desk.candidate(id).pictures[0].facts["dismissed"] == [f"surface-rust:{ZONE}"]
    page = visitor.page(answer.headers["location"])
    assert "Patch on Rocker" in page
    seqs = re.search(r'name="seqs" value="([^"]+)"', page)
    assert seqs is not None
    visitor.submit(f"/c/{id}/pictures/undo", {"seqs": seqs.group(1), "large": sha})
    assert state(desk, id, sha) == "suggested"
    assert not [entry for entry in desk.candidate(id).standing if entry.body.get("sign") == "patch" and entry.body.get("picture")]


@pytest.mark.parametrize(
    ("fields", "status"),
    [
        ({"way": "accept", "at": "ot.hood", "sign": "surface-rust"}, 422),
        ({"way": "accept", "at": ZONE, "sign": "hole"}, 422),
        ({"way": "accept", "at": "", "sign": "surface-rust"}, 422),
        ({"way": "agree", "at": ZONE, "sign": "surface-rust"}, 404),
    ],
)
def test_what_is_not_suggested_cannot_be_decided(
    visitor: Visitor, desk: Desk, id: str, sha: str, fields: dict[str, str], status: int
) -> None:
    before = desk.candidate(id).last
    assert visitor.submit(f"/c/{id}/pictures/{sha}/suggestion", fields).status_code == status
    assert desk.candidate(id).last == before


def test_the_rust_laid_over_is_the_chance_at_each_pixel_and_is_kept_beside_the_original(
    visitor: Visitor, desk: Desk, id: str, sha: str
) -> None:
    """Against the mask drawn with a synthetic picture (1 rust, 0 none): what is rust there is brighter than what is not."""
    owner = desk.people.owner().id
    mask = np.asarray(Image.open(DATA / "rust_synthetic_00.png"))
    entry = desk.add_picture(id, (DATA / "rust_synthetic_00.jpg").read_bytes(), "made.jpg", owner)
    address = f"/c/{id}/pictures/{entry.body['sha256']}/rust.png"
    first = visitor.get(address)
    grey = np.asarray(Image.open(io.BytesIO(first.content)).resize(mask.shape[::-1]))
    assert grey.ndim == 2 and grey[mask == 1].mean() > grey[mask == 0].mean() + 80
    assert visitor.get(address).content == first.content
    assert list((desk.pictures.path(str(entry.body["sha256"])).parents[2]).glob(f"rust-*/*/{entry.body['sha256']}"))


def test_a_higher_level_leaves_less_rust(desk: Desk, id: str, sha: str) -> None:
    areas = [at.area for at in levels_of(desk, sha)]
    assert areas == sorted(areas, reverse=True) and areas[0] > areas[-1]


def test_a_box_has_its_own_share_of_rust(visitor: Visitor, id: str, sha: str) -> None:
    assert "In this box" in visitor.page(f"/c/{id}/pictures/{sha}/rust?region=20,100,180,400")
    assert "is no box in this picture of 201 x 446 pixels" in visitor.page(
        f"/c/{id}/pictures/{sha}/rust?region=20,100,999,400", 422
    )
    assert "is no box" in visitor.page(f"/c/{id}/pictures/{sha}/rust?region=a,b", 422)


def test_where_a_zone_is_on_the_picture_is_said_with_a_box_and_the_machine_looks_there(
    visitor: Visitor, desk: Desk, id: str, sha: str
) -> None:
    box = {"left": "20", "top": "100", "right": "180", "bottom": "400"}
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/place", {"large": sha, "at": ZONE, **box})
    assert seen(desk, id, sha).zones[0].region == (20, 100, 180, 400)
    page = visitor.page(answer.headers["location"])
    assert 'class="mark place"' in page and "Where the zone is on it." in page
    assert visitor.submit(f"/c/{id}/pictures/{sha}/place", {"at": ZONE, **box, "right": "900"}).status_code == 422


def test_a_picture_taken_off_a_zone_forgets_where_the_zone_was(visitor: Visitor, desk: Desk, id: str, sha: str) -> None:
    desk.describe_picture(id, sha, {"regions": {ZONE: [20, 100, 180, 400]}}, desk.people.owner().id)
    visitor.submit(f"/c/{id}/pictures/zones", {"picture": sha, "zones": ZONE, "off": "yes"})
    assert "regions" not in desk.candidate(id).pictures[0].facts


def test_how_a_picture_came_is_said_and_the_form_follows(visitor: Visitor, desk: Desk, id: str, sha: str) -> None:
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/came", {"large": sha, "source": "own-lift", "taken_on": "2026-11-20"})
    assert "How it came; when it was taken." in visitor.page(answer.headers["location"])
    assert (seen(desk, id, sha).source, seen(desk, id, sha).taken_on) == ("own-lift", "2026-11-20")
    page = visitor.page(f"/c/{id}/pictures/{sha}")
    assert 'value="own-lift" selected' in page and 'value="2026-11-20"' in page
    assert visitor.submit(f"/c/{id}/pictures/{sha}/came", {"source": "hearsay"}).status_code == 422


def test_a_desk_without_an_eye_says_so(visitor: Visitor, desk: Desk, id: str, sha: str) -> None:
    desk.eye = None
    assert "looks at no pictures" in visitor.page(f"/c/{id}/pictures/{sha}/machine")
