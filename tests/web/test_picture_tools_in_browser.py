"""Suggestions, rust laid over, measures and plates in a real browser, on pictures of which the truth is known."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from test_picture_machine import RUSTY, ZONE
from test_picture_measure import plate, quad_scene, span
from test_pictures_in_browser import on_screen
from visiting import AXE, SMALL, Opened, Served, make_desk, serving, unpictured

from weldworth.picture.decode import encoded

pytestmark = pytest.mark.browser
CARD = quad_scene(4, "card", tilt=10, share=0.25)
PLATE = plate(4, "printed", 17)


@pytest.fixture(scope="module")
def tooled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The open tub with a rusty panel on its rocker, a card on metal, and a plate."""
    desk = make_desk(tmp_path_factory.mktemp("tooled"))
    owner = desk.people.owner("R. Quillan").id
    id = desk.import_dossier(unpictured(tmp_path_factory.mktemp("bare"), "ostrel-forager"), owner)
    desk.add_picture(id, RUSTY.read_bytes(), "rusty.jpg", owner, zones=[ZONE], source="asked-picture")
    desk.add_picture(id, encoded(CARD.image, 95), "card.jpg", owner)
    desk.add_picture(id, encoded(PLATE.image, 95), "plate.jpg", owner)
    desk.refresh()
    yield from serving(desk)


def view(served: Served) -> Any:
    return served.desk.candidate(served.desk.candidates()[0].id)


def address(served: Served, name: str) -> str:
    found = next(one for one in view(served).pictures if one.name == name)
    return f"{served.address}/c/{view(served).id}/pictures/{found.sha256}"


def test_a_suggestion_is_accepted_with_one_tap_and_undone_with_another(opened: Opened, tooled: Served) -> None:
    page = opened("phone")
    page.goto(address(tooled, "rusty.jpg"))
    page.tap("#machine-says >> text=Accept")
    page.wait_for_selector(".just-done >> text=Surface rust on")
    page.wait_for_selector("#machine-says >> text=accepted")
    assert view(tooled).standing[-1].body["sign"] == "surface-rust"
    page.tap(".just-done >> text=Undo")
    page.wait_for_selector("#machine-says >> text=Suggested: surface rust")
    assert not any(entry.body.get("picture") for entry in view(tooled).standing if entry.kind == "finding")


def test_a_suggestion_is_put_aside_with_one_tap_and_brought_back(opened: Opened, tooled: Served) -> None:
    page = opened()
    page.goto(address(tooled, "rusty.jpg"))
    page.click("#machine-says >> text=Put aside")
    page.wait_for_selector("#machine-says >> text=Bring back")
    assert view(tooled).pictures[0].facts["dismissed"] == [f"surface-rust:{ZONE}"]
    page.click("#machine-says >> text=Bring back")
    page.wait_for_selector("#machine-says >> text=Suggested: surface rust")


def test_a_suggestion_is_corrected_to_another_sign(opened: Opened, tooled: Served) -> None:
    page = opened()
    page.goto(address(tooled, "rusty.jpg"))
    page.click("#machine-says >> text=Correct")
    page.wait_for_selector("text=Instead of surface rust")
    page.click("#mark .signs >> text=patch")
    page.wait_for_selector(".just-done >> text=Patch on")
    page.wait_for_selector("#machine-says >> text=Bring back")
    page.click(".just-done >> text=Undo")
    page.wait_for_selector("#machine-says >> text=Suggested: surface rust")


def test_the_rust_laid_over_follows_the_level(opened: Opened, tooled: Served) -> None:
    page = opened()
    page.goto(address(tooled, "rusty.jpg"))
    page.locator("#rust-shown").check(force=True)
    assert page.locator("#rust image").get_attribute("href").endswith("/rust.png")
    first = page.text_content("#level-words")
    page.locator("#level").focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    assert page.text_content("#level-words").startswith("From 70 in 100") and page.text_content("#level-words") != first
    assert page.locator("#rust feFuncR").get_attribute("tableValues").split() == ["0"] * 14 + ["1"] * 6


def test_a_length_is_tapped_beside_a_card_and_kept_as_a_note(opened: Opened, tooled: Served) -> None:
    """The true length is that of the rendered scene."""
    world = np.array([[-30.0, 45.0], [35.0, 50.0]])
    page = opened()
    page.goto(address(tooled, "card.jpg"))
    page.click(".tools [data-tool=measure]")
    page.select_option("#object", "card")
    for x, y in CARD.camera.seen(world):
        page.mouse.click(*on_screen(page, float(x), float(y)))
    page.wait_for_selector("#measured .figure", timeout=60_000)
    low, high = span(page.text_content("#measured .figure"))
    assert low <= float(np.hypot(*(world[0] - world[1]))) <= high
    assert page.locator("#reference .object").count() == 2
    page.click("text=Keep the note")
    page.wait_for_selector("#found >> text=measured in the picture by bank or identity card")
    assert view(tooled).standing[-1].body["picture"] == "card.jpg"


def test_a_measure_is_made_with_keys_alone(opened: Opened, tooled: Served) -> None:
    page = opened()
    page.goto(address(tooled, "card.jpg"))
    page.locator("#stage").focus()
    page.keyboard.press("m")
    page.select_option("#object", "points")
    page.fill("#apart_mm", "85.6")
    page.locator("#stage").focus()
    for key in ("Space", *["ArrowRight"] * 12, "Space", *["ArrowDown"] * 12, "Space", *["ArrowLeft"] * 12, "Space"):
        page.keyboard.press(key)
    page.wait_for_selector("#measured .figure", timeout=60_000)
    low, high = span(page.text_content("#measured .figure"))
    assert low <= 85.6 <= high


def test_a_plate_is_read_in_a_box_and_a_candidate_taken(opened: Opened, tooled: Served) -> None:
    page = opened()
    page.goto(address(tooled, "plate.jpg"))
    page.click("#plate summary")
    page.click("text=Read it")
    page.wait_for_selector("#plate-read", timeout=60_000)
    page.click(f"#plate-read li:has-text('{PLATE.text}') >> text=Take it")
    page.wait_for_selector(f".just-done >> text=The vehicle’s number is {PLATE.text}")
    page.click(".just-done >> text=Undo")
    page.wait_for_selector(".just-done >> text=Taken back")
    assert view(tooled).dossier.vehicle.number != PLATE.text


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", ["desk", "phone"])
def test_the_tools_have_nothing_that_axe_objects_to(opened: Opened, tooled: Served, size: str, scheme: str) -> None:
    """axe-core 4.14 with its rules for WCAG 2.0, 2.1 and 2.2 at levels A and AA, and its good practices."""
    page = opened(size, scheme, bypass_csp=True)
    page.goto(address(tooled, "rusty.jpg"))
    page.wait_for_selector(".suggested")
    page.locator("#rust-shown").check(force=True)
    for details in page.locator("main details").all():
        details.evaluate("one => { one.open = true; }")
    page.add_script_tag(path=str(AXE))
    result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    assert [f"{v['id']}: {v['nodes'][0]['html'][:200]}" for v in result["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    below = "document.documentElement.scrollHeight - scrollY - document.querySelector('footer').getBoundingClientRect().bottom"
    assert page.evaluate(below) < 60
    if size == "phone":
        assert page.evaluate(SMALL) == []
