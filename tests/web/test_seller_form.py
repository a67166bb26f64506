"""The seller's page without JavaScript: in a real browser with scripts switched off, and what its form refuses."""

from __future__ import annotations

import hashlib
import re
from typing import Any

import pytest
from phones import file, photo
from visiting import CHROMIUM, Served, Visitor

from weldworth.workbench.desk import Desk

browser = pytest.mark.browser
ASKS = (
    "picture:pu.frame.horn.l",
    "question:salted-winters",
    "picture:pu.door.low.l",
    "reading:pu.frame.kick.r",
    "question:title",
)


def small_photo() -> bytes:
    """A picture too small to see fine rust on."""
    return photo(3, (200, 150))


def made(desk: Desk, asks: tuple[str, ...] = ASKS) -> tuple[str, str]:
    """A pickup with a page, and the page's path."""
    owner = desk.people.owner("R. Quillan").id
    id = desk.open_candidate("Ostrel Forager", "pickup", owner)
    return id, f"/s/{desk.links.make(id, asks, owner, vehicle='1964 pickup')[1]}"


def arrived(desk: Desk, id: str, kind: str) -> list[Any]:
    return [entry for entry in desk.candidate(id).standing if entry.kind == kind]


@browser
@pytest.mark.skipif(not CHROMIUM.exists(), reason="needs /usr/bin/chromium")
def test_without_scripts_a_seller_gives_pictures_answers_and_readings_one_at_a_time(chromium: Any, served_empty: Served) -> None:
    desk = served_empty.desk
    id, path = made(desk)
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(served_empty.address + path)
    assert page.inner_text(".ask:not([hidden]) h1").startswith("Front frame horns")
    for picture, told, said in ((small_photo(), ".again p", "Step closer"), (photo(5), "#news:not(:empty)", "Good, thank you")):
        page.set_input_files(".ask:not([hidden]) .cam input", file(picture))
        page.click(".ask:not([hidden]) form:has(.cam) button")
        page.wait_for_selector(told)
        assert said in page.inner_text(told)
    assert page.is_visible("h1:has-text('salted roads')")
    page.click(".ask:not([hidden]) .answers button >> nth=0")
    page.wait_for_selector("h1:has-text('Door'):visible")
    page.click(".ask:not([hidden]) .can summary")
    page.click(".ask:not([hidden]) [value=unsafe]")
    page.wait_for_selector(".number:visible")
    page.fill(".ask:not([hidden]) .number [name=value]", "0,075")
    page.check(".ask:not([hidden]) .number [value=in]", force=True)
    page.click(".ask:not([hidden]) .number button")
    page.wait_for_selector("h1:has-text('title'):visible, h1:has-text('papers'):visible, .own:visible")
    page.click("#early")
    page.wait_for_selector("#list li:nth-child(3) span:text-is('cannot')")
    assert page.inner_text("#list li:nth-child(5) span") == "still open"
    page.click("#finish")
    page.wait_for_selector("#news:has-text('You can still come back')")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    context.close()
    shas = [entry.body["sha256"] for entry in arrived(desk, id, "picture")]
    assert shas == [hashlib.sha256(data).hexdigest() for data in (small_photo(), photo(5))]
    (reading,) = arrived(desk, id, "reading")
    assert [reading.body[key] for key in ("zone", "kind", "value", "unit")] == ["pu.frame.kick.r", "wall", 0.075, "in"]
    assert {entry.body["question"] for entry in arrived(desk, id, "answer")} == {"salted-winters"}
    assert [entry.body["zone"] for entry in arrived(desk, id, "ask-refused")] == ["pu.door.low.l"]


def form_of(text: str, inside: str) -> str:
    """The id of the first form of the page that holds `inside`."""
    form = next(part for part in text.split("<form")[1:] if inside in part.partition("</form>")[0])
    found = re.search(r'name="id" value="([^"]+)"', form)
    assert found is not None
    return found[1]


def test_the_same_form_sent_twice_is_taken_once(desk: Desk, visitor: Visitor) -> None:
    id, path = made(desk)
    given = {"id": form_of(visitor.get(path).text, 'name="file"'), "ask": ASKS[0]}
    for _ in range(2):
        answer = visitor.post(
            f"{path}/upload?at=1", data=given, files={"file": ("a.jpg", photo(7), "image/jpeg")}, follow_redirects=False
        )
        assert answer.status_code == 303
    assert len(arrived(desk, id, "picture")) == 1


@pytest.mark.parametrize(
    ("given", "files", "said"),
    [
        ({"ask": ASKS[0]}, {}, "Nothing was chosen"),
        ({"ask": ASKS[0]}, {"file": ("a.jpg", b"%PDF-1.7 no picture at all", "image/jpeg")}, "not a picture"),
        ({"ask": ASKS[3], "value": "thick", "unit": "mm", "measured": "wall"}, {}, "Give a number"),
        ({"ask": ASKS[3], "value": "4", "unit": "ell", "measured": "wall"}, {}, "could not be taken"),
        ({"ask": ASKS[1], "answer": "perhaps"}, {}, "could not be taken"),
        ({"ask": "picture:pu.roof.skin", "why": "reach"}, {}, "could not be taken"),
        ({"ask": ASKS[0], "why": "reach", "id": "short"}, {}, "could not be taken"),
    ],
)
def test_what_a_form_cannot_give_is_said_on_the_page_and_nothing_is_recorded(
    given: dict[str, str], files: dict[str, Any], said: str, desk: Desk, visitor: Visitor
) -> None:
    id, path = made(desk)
    before = desk.candidate(id).last
    answer = visitor.post(f"{path}/upload?at=1", data={"id": "form-0001-of-a-test", **given}, files=files)
    assert said in answer.text and 'class="ask"' in answer.text
    assert desk.candidate(id).last == before


def test_a_form_for_a_link_that_is_not_open_gets_the_same_plain_page(desk: Desk, visitor: Visitor) -> None:
    answer = visitor.post(f"/s/{'x' * 32}/upload", data={"id": "form-0001-of-a-test", "why": "reach"})
    assert answer.status_code == 404 and answer.text == visitor.get(f"/s/{'x' * 32}").text
