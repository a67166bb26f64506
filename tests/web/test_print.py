"""Printed screens: what is read is on the paper, whole and in ink; what is pressed is not. Printed by Chromium, read by pypdf."""

from __future__ import annotations

import io
from typing import Any

import pytest
from pypdf import PageObject, PdfReader
from test_pictures_page import jpeg
from visiting import Opened, Served

pytestmark = pytest.mark.browser
SCREENS = ("/metal", "/pictures", "/asks", "/walk", "/money", "/diary")
PRESSED = ("Take in", "People", "To the content", "Undo", "Keep a snapshot", "Show the way", "Record a finding", "Choose files")
"""Words of what leads elsewhere or wants to be pressed."""
FORMATS = ("A4", "Letter")


def candidate(served: Served) -> str:
    return next(line.id for line in served.desk.candidates() if line.name == "Ostrel Forager")


def printed(page: Any, address: str, paper: str) -> list[PageObject]:
    page.set_default_timeout(60_000)
    page.goto(address)
    return list(PdfReader(io.BytesIO(page.pdf(format=paper))).pages)


def words(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("paper", FORMATS)
@pytest.mark.parametrize("screen", SCREENS)
def test_no_screen_prints_what_leads_elsewhere_or_leaves_a_heading_alone_at_the_foot(
    opened: Opened, served: Served, screen: str, paper: str
) -> None:
    page = opened(scheme="dark")
    pages = printed(page, f"{served.address}/c/{candidate(served)}{screen}", paper)
    texts = [one.extract_text() for one in pages]
    said = words(" ".join(texts))
    assert "Ostrel Forager" in said and "Not an appraisal" in said
    assert [word for word in PRESSED if word in said] == []
    headings = set(page.locator("main :is(h2, h3)").all_inner_texts())
    last = [text.strip().splitlines()[-1].strip() for text in texts if text.strip()]
    assert [line for line in last if line in headings] == []


@pytest.mark.parametrize("screen", SCREENS)
def test_paper_is_white_and_ink_black_whatever_the_screen_shows(opened: Opened, served: Served, screen: str) -> None:
    page = opened(scheme="dark")
    page.goto(f"{served.address}/c/{candidate(served)}{screen}")
    page.emulate_media(media="print", color_scheme="dark")
    found = page.evaluate(
        """() => [...document.querySelectorAll('body, main, main :is(h2, p, td, li)')].filter(one => one.checkVisibility())
        .map(one => getComputedStyle(one)).map(one => [one.color, one.backgroundColor])"""
    )
    inks = {ink for ink, _ in found}
    assert inks <= {"rgb(0, 0, 0)", "rgb(51, 51, 51)", "rgb(68, 68, 68)"}
    assert {ground for _, ground in found} <= {"rgba(0, 0, 0, 0)", "rgb(255, 255, 255)"}


@pytest.mark.parametrize("paper", FORMATS)
def test_every_line_of_the_bill_is_printed_with_its_figures_beside_it(opened: Opened, served: Served, paper: str) -> None:
    page = opened()
    pages = printed(page, f"{served.address}/c/{candidate(served)}/money", paper)
    texts = ["".join(one.extract_text().split()) for one in pages]
    rows = page.locator(".bill table").first.locator("tbody tr:has(td), tfoot tr")
    assert rows.count() > 10
    for row in rows.all():
        name, cost = ("".join(one.inner_text().split()) for one in (row.locator("th"), row.locator("td").last))
        on = [text for text in texts if name in text]
        assert on and any(cost in text.partition(name)[2] for text in on), name
    assert sum(text.count("Whatmayhavetobedone") for text in texts) >= 2, "the heads of a table stand on each of its pages"


def test_the_metal_page_prints_its_drawings_and_every_zone(opened: Opened, served: Served) -> None:
    page = opened("phone")
    pages = printed(page, f"{served.address}/c/{candidate(served)}/metal", "A4")
    steps = [step[1] for one in pages[:2] for step in getattr(one.get_contents(), "operations", ())]
    assert sum(step in (b"S", b"f", b"f*", b"B", b"B*") for step in steps) > 400, "lines and areas of the drawings"
    said = words(" ".join(one.extract_text() for one in pages))
    assert [zone.label for zone in served.desk.metal(candidate(served)).plan.zones if zone.label not in said] == []


def test_pictures_are_printed_with_their_zones(opened: Opened, served: Served) -> None:
    desk, id = served.desk, candidate(served)
    desk.add_picture(id, jpeg(71), "floor.jpg", desk.people.owner().id, zones=["ot.cowl.top"])
    page = opened()
    page.goto(f"{served.address}/c/{id}/pictures")
    page.wait_for_function("() => [...document.querySelectorAll('.grid img')].every(one => one.complete && one.naturalWidth)")
    pages = list(PdfReader(io.BytesIO(page.pdf(format="A4"))).pages)
    assert sum(len(one.images) for one in pages) >= 1
    said = words(" ".join(one.extract_text() for one in pages))
    assert "floor.jpg" in said and "Cowl top" in said


def test_the_message_to_the_seller_is_printed_to_its_end(opened: Opened, served: Served) -> None:
    page = opened()
    pages = printed(page, f"{served.address}/c/{candidate(served)}/asks", "A4")
    message = words(page.input_value("#text"))
    said = words(" ".join(one.extract_text() for one in pages))
    assert len(message) > 200 and message[:60] in said and message[-30:] in said
