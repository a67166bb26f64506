"""The whole way in a real browser: a pasted advertisement, pictures, findings, asks, the ceiling, a snapshot, the report."""

from __future__ import annotations

import io
from typing import Any

import pytest
from pypdf import PdfReader
from test_pictures_page import jpeg
from visiting import SIZES, Opened, Served

pytestmark = pytest.mark.browser
ADVERT = """1964 Ostrel 60 pickup
Runs and drives, 61,200 miles. Solid frame, no rust through. Floors were replaced years ago.
Located in Grand Junction, CO. Asking $6,900."""
FILES = [{"name": f"{n}.jpg", "mimeType": "image/jpeg", "buffer": jpeg(60 + n, size=(800, 600))} for n in range(2)]
LABEL = "Before we bid"
PATIENT_MS = 90_000


def opened_at(opened: Opened, size: str) -> Any:
    page = opened(size, reduced_motion="reduce")
    page.set_default_timeout(PATIENT_MS)
    return page


def candidate_in(page: Any) -> str:
    return str(page.url).partition("/c/")[2].partition("/")[0]


def told_of(page: Any, served: Served, address: str) -> str:
    """The words of the report that the page offers, as a PDF reader of another maker reads them."""
    answer = page.request.get(served.address + address)
    assert answer.headers["content-type"] == "application/pdf"
    return "\n".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(answer.body())).pages)


@pytest.mark.parametrize("size", SIZES)
def test_from_an_advertisement_and_pictures_to_a_ceiling_a_snapshot_and_a_report(
    opened: Opened, served_empty: Served, size: str
) -> None:
    page, desk = opened_at(opened, size), served_empty.desk
    press = page.tap if size == "phone" else page.click
    page.goto(served_empty.address + "/new")
    page.wait_for_selector(".drop[data-ready]")
    page.fill("#advert", ADVERT)
    page.set_input_files("input[type=file]", FILES)
    page.wait_for_selector("#arrivals li:nth-child(2) >> text=arrived")
    press("text=Read it")
    page.wait_for_selector("#take [name=picture] >> nth=1", state="attached")
    assert page.is_checked("[name=body][value=pickup]") and page.input_value("[name='sale.price']") == "6,900"
    for name, text in (("name", f"Ostrel {size}"), ("resale.low", "14000"), ("resale.likely", "17000"), ("resale.high", "21000")):
        page.fill(f"[name='{name}']", text)
    press("text=Put it on the bench")

    page.wait_for_url("**/pictures")
    id = candidate_in(page)
    assert [one.name for one in desk.candidate(id).pictures] == ["0.jpg", "1.jpg"]
    press(".grid a:has(img) >> nth=0")
    page.wait_for_selector("#stage svg image")
    page.locator("#assign [role=combobox]").fill("outer")
    page.locator("#assign [role=option][data-zone]").first.wait_for()
    zone = page.locator("#assign [role=option]").first.get_attribute("data-zone")
    press("#assign [role=option] >> nth=0")
    page.wait_for_selector(f".shows a[href*='{zone}']")
    press("#mark .signs >> text=hole")
    page.wait_for_selector(".just-done >> text=Hole on")

    press(".tabs >> text=Metal")
    page.wait_for_url("**/metal")
    page.wait_for_selector("#list a[data-zone]")
    before = page.text_content(".head .price")
    press("#list a[data-zone] >> nth=0")
    page.wait_for_selector("#chosen .find")
    press("#chosen .signs >> text=/^scale$/")
    page.wait_for_selector("#chosen .mv >> text=/scale/i")

    press(".tabs >> text=Asks")
    page.wait_for_url("**/asks")
    press("#choose summary")
    page.wait_for_selector("#choose tbody input")
    page.locator("#choose input[name=ask]:not(:checked)").first.check()
    page.wait_for_selector("#chosen #copy")
    page.wait_for_function("() => document.getElementById('text').value.length > 40")
    press("#copy")
    page.wait_for_selector("#chosen .back li")
    assert "ask-sent" in [entry.kind for entry in desk.candidate(id).standing]

    press(".tabs >> text=Money")
    page.wait_for_url("**/money")
    page.wait_for_selector("#p")
    profit = page.text_content("#ep")
    page.locator("#p").focus()
    page.keyboard.press("Home")
    page.wait_for_function("was => document.getElementById('ep').textContent !== was", arg=profit)
    ceiling = page.text_content(".head .price")
    assert ceiling and before
    page.fill("[name=label]", LABEL)
    press("text=Keep a snapshot")
    page.wait_for_url("**/diary*")
    page.wait_for_selector(f".dside >> text={LABEL}")
    (kept,) = desk.snapshots(id)
    assert (kept.label, desk.recompute(id, kept.seq).same) == (LABEL, True)

    report = page.get_attribute("text=The report as PDF", "href")
    words = told_of(page, served_empty, report)
    assert f"Ostrel {size}" in words and str(ceiling).split()[-1] in words


class Keys:
    """Somebody who has no mouse: goes from one thing to the next with Tab, and nothing else."""

    def __init__(self, page: Any) -> None:
        self.page, self.keyboard = page, page.keyboard

    def to(self, wanted: str, *, back: bool = False) -> None:
        """Go to the thing that the selector names; fails where no number of steps reaches it, or where it does not show."""
        self.page.wait_for_selector(wanted, state="attached")
        for _ in range(400):
            if self.page.evaluate("wanted => document.activeElement.matches(wanted)", wanted):
                break
            self.keyboard.press("Shift+Tab" if back else "Tab")
        else:
            raise AssertionError(f"{wanted} is not reached by Tab")

    def press(self, wanted: str, key: str = "Enter") -> None:
        self.to(wanted)
        self.keyboard.press(key)

    def type(self, wanted: str, text: str) -> None:
        self.to(wanted)
        self.keyboard.press("Control+a")
        self.keyboard.type(text)


def test_the_whole_way_with_the_keyboard_alone(opened: Opened, served_empty: Served) -> None:
    page, desk = opened_at(opened, "desk"), served_empty.desk
    keys, asked = Keys(page), []
    page.on("filechooser", lambda chooser: asked.append(chooser))  # long before the key: handing it over takes a moment
    page.goto(served_empty.address + "/")
    keys.press("nav a[href='/new']")
    page.wait_for_selector(".drop[data-ready]")
    keys.type("#advert", ADVERT)
    keys.to("input[type=file]")
    keys.keyboard.press("Space")
    for _ in range(PATIENT_MS // 100):
        if asked:
            break
        page.wait_for_timeout(100)
    asked[0].set_files(FILES)
    page.wait_for_selector("#arrivals li:nth-child(2) >> text=arrived")
    page.locator("#advert").focus()
    keys.press(".paste button")
    page.wait_for_selector("#take [name=picture] >> nth=1", state="attached")
    for name, text in (("name", "Ostrel by keys"), ("resale.low", "14000"), ("resale.likely", "17000"), ("resale.high", "21000")):
        keys.type(f"[name='{name}']", text)
    keys.keyboard.press("Enter")

    page.wait_for_url("**/pictures")
    id = candidate_in(page)
    keys.press(".grid a")
    page.wait_for_selector("#stage svg image")
    keys.to("#stage")
    keys.keyboard.press("b")
    keys.keyboard.press("Enter")
    page.wait_for_function("() => document.activeElement.matches('#mark [role=combobox]')")
    keys.keyboard.type("hood")
    page.wait_for_selector("#mark [role=option][aria-selected=true]")
    keys.keyboard.press("Enter")
    keys.press("#mark button[value=hole]")
    page.wait_for_selector(".just-done >> text=Hole on")
    (found,) = [entry.body for entry in desk.candidate(id).standing if entry.kind == "finding" and "region" in entry.body]
    assert found["sign"] == "hole"

    page.goto(f"{served_empty.address}/c/{id}/metal")
    keys.press("#list a[data-zone]")
    page.wait_for_selector("#chosen .find")
    keys.to("#chosen button[value=scale]", back=True)
    keys.keyboard.press("Enter")
    page.wait_for_selector("#chosen .mv >> text=/scale/i")

    keys.press(".tabs a[href$='/asks']")
    page.wait_for_url("**/asks")
    keys.press("#choose summary")
    keys.press("#choose input[name=ask]:not(:checked)", "Space")
    page.wait_for_function("() => (document.getElementById('text')?.value.length ?? 0) > 40")
    keys.press("#copy")
    page.wait_for_selector("#chosen .back li")

    page.goto(f"{served_empty.address}/c/{id}/money")
    profit = page.text_content("#ep")
    keys.press("#p", "ArrowRight")
    page.wait_for_function("was => document.getElementById('ep').textContent !== was", arg=profit)
    keys.type("[name=label]", LABEL)
    keys.keyboard.press("Enter")
    page.wait_for_url("**/diary*")
    assert [one.label for one in desk.snapshots(id)] == [LABEL]
    keys.to("a[href$='report.pdf']")
    assert "Ostrel by keys" in told_of(page, served_empty, page.evaluate("document.activeElement.getAttribute('href')"))
