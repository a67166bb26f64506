"""Millimetres and plate numbers on the page of one picture, on rendered pictures of which everything is known."""

from __future__ import annotations

import html
import re
import sys
from pathlib import Path

import numpy as np
import pytest
from visiting import Visitor, unpictured

from weldworth.picture.decode import encoded
from weldworth.workbench.desk import Desk

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "picture"))
from plates import plate
from scenes import coin_scene, quad_scene


@pytest.fixture
def id(desk: Desk, tmp_path: Path) -> str:
    return desk.import_dossier(unpictured(tmp_path / "bare", "ostrel-forager"), desk.people.owner().id)


def added(desk: Desk, id: str, pixels: object, name: str) -> str:
    entry = desk.add_picture(id, encoded(np.asarray(pixels, np.uint8), 95), name, desk.people.owner().id)
    return str(entry.body["sha256"])


def points(spots: object) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in np.asarray(spots))


def span(text: str) -> tuple[float, float]:
    found = re.search(r"\(([\d,.]+) to ([\d,.]+), 9 times in 10\)", text)
    assert found is not None, text
    return float(found.group(1).replace(",", "")), float(found.group(2).replace(",", ""))


def test_a_length_beside_a_coin_has_limits_that_hold_the_true_one(visitor: Visitor, desk: Desk, id: str) -> None:
    """The truth is that of the rendered scene: tests/picture/scenes.py."""
    scene = coin_scene(11, "quarter", tilt=8, share=0.16)
    sha = added(desk, id, scene.image, "coin.jpg")
    world, taps = scene.spots(2, 45)
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/measure", {"object": "quarter", "what": "length", "points": points(taps)})
    low, high = span(html.unescape(answer.text))
    assert low <= float(np.hypot(*(world[0] - world[1]))) <= high
    assert "By US quarter" in answer.text and "flat metal" in answer.text


def test_an_area_beside_a_printed_marker_is_found_by_itself(visitor: Visitor, desk: Desk, id: str) -> None:
    scene = quad_scene(7, "marker", tilt=10, share=0.16)
    sha = added(desk, id, scene.image, "marker.jpg")
    square = np.array([[40, -15], [70, -15], [70, 15], [40, 15]], float)
    fields = {"object": "marker-50", "size_mm": "50", "what": "area", "points": points(scene.camera.seen(square))}
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/measure", fields)
    low, high = span(html.unescape(answer.text))
    assert low <= 900 <= high and "mm²" in answer.text


def test_two_points_a_known_distance_apart_give_the_scale(visitor: Visitor, desk: Desk, id: str) -> None:
    scene = coin_scene(12, "dime", tilt=0, share=0.12)
    sha = added(desk, id, scene.image, "plain.jpg")
    known, asked = np.array([[-20, 0], [20, 0]], float), np.array([[0, -15], [0, 15]], float)
    seen = scene.camera.seen
    fields = {"object": "points", "near": points(seen(known)), "apart_mm": "40", "what": "length", "points": points(seen(asked))}
    low, high = span(html.unescape(visitor.submit(f"/c/{id}/pictures/{sha}/measure", fields).text))
    assert low <= 30 <= high


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, "nothing is chosen to measure by"),
        ({"object": "florin"}, "florin"),
        ({"object": "card"}, "is not found in the picture"),
        ({"object": "points", "near": "10,10"}, "two points are needed"),
        ({"object": "points", "near": "10,10 400,300", "apart_mm": "far"}, "is not a number"),
        ({"object": "quarter", "points": "here"}, "are no points"),
        ({"object": "quarter", "what": "weight"}, "cannot be measured"),
    ],
)
def test_what_cannot_be_measured_is_refused_with_the_remedy(
    visitor: Visitor, desk: Desk, id: str, fields: dict[str, str], words: str
) -> None:
    sha = added(desk, id, coin_scene(3, "quarter", tilt=12, share=0.14).image, "coin.jpg")
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/measure", fields)
    assert answer.status_code == 422 and words in html.unescape(answer.text).lower()


def test_a_measure_is_kept_as_a_note_on_picture_and_zone_and_taken_back(visitor: Visitor, desk: Desk, id: str) -> None:
    sha = added(desk, id, coin_scene(3, "quarter").image, "coin.jpg")
    fields = {"large": sha, "text": "Length 43 mm (41 to 45, 9 times in 10), measured by US quarter.", "zone": "ot.hood"}
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/note", fields)
    note = desk.candidate(id).standing[-1]
    assert (note.kind, note.body["picture"], note.body["zone"]) == ("note", "coin.jpg", "ot.hood")
    assert "Length 43 mm" in visitor.page(answer.headers["location"])
    visitor.submit(f"/c/{id}/pictures/{sha}/withdraw", {"seq": str(note.seq), "large": sha})
    assert "Length 43 mm" not in visitor.page(f"/c/{id}/pictures/{sha}")


def test_a_plate_is_read_into_candidates_and_only_what_is_taken_becomes_the_number(visitor: Visitor, desk: Desk, id: str) -> None:
    """The number that was stamped is known: tests/picture/plates.py."""
    made = plate(4, "printed", 17)
    sha = added(desk, id, made.image, "plate.jpg")
    before = desk.candidate(id).dossier.vehicle.number
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/plate")
    assert answer.status_code == 200 and f'name="number" value="{made.text}"' in answer.text
    assert "check digit right" in answer.text and "data:image/jpeg;base64," in answer.text and "None of these" in answer.text
    assert desk.candidate(id).dossier.vehicle.number == before
    back = visitor.submit(f"/c/{id}/pictures/{sha}/number", {"large": sha, "number": made.text})
    assert desk.candidate(id).dossier.vehicle.number == made.text
    assert f"The vehicle’s number is {made.text}." in visitor.page(back.headers["location"])


def test_a_picture_without_a_plate_is_told_what_to_do(visitor: Visitor, desk: Desk, id: str) -> None:
    sha = added(desk, id, coin_scene(3, "quarter").image, "coin.jpg")
    answer = visitor.submit(f"/c/{id}/pictures/{sha}/plate", {"region": "20,20,300,200"})
    assert answer.status_code == 422 and "take it again straight on" in answer.text
    assert "is no box" in visitor.submit(f"/c/{id}/pictures/{sha}/plate", {"region": "20,20,9000,200"}).text
