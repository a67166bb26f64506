"""The pages in a real browser: what a script does, what a keyboard and a thumb can reach, what a screen reader is told."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from visiting import AXE, SIZES, SMALL, Opened, Served

pytestmark = pytest.mark.browser
PAGES = (
    "/",
    "/?archive=true",
    "/new",
    "/new/typed",
    "/shop",
    "/shop/tables/deal.csv",
    "/people",
    "/me",
    "/interface",
    "/nowhere",
)
OF_A_CANDIDATE = ("", "/metal", "/pictures", "/money", "/money/sales", "/asks", "/diary", "/diary/then/2", "/walk")


def a_candidate(served: Served) -> str:
    return served.desk.candidates()[0].id


def screens(served: Served) -> list[str]:
    """Every page of the shop, and every page of one candidate with a zone of its metal open."""
    id = a_candidate(served)
    zone = served.desk.metal(id).plan.zones[0].id
    return [*PAGES, *(f"/c/{id}{page}" for page in OF_A_CANDIDATE), f"/c/{id}/metal?zone={zone}"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_no_screen_has_anything_that_axe_objects_to(opened: Opened, served: Served, size: str, scheme: str) -> None:
    """axe-core 4.14 with its rules for WCAG 2.0, 2.1 and 2.2 at levels A and AA, and its good practices."""
    page = opened(size, scheme, bypass_csp=True)
    found = {}
    for address in screens(served):
        page.goto(served.address + address)
        page.add_script_tag(path=str(AXE))
        result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        wrong = [f"{v['id']}: {v['nodes'][0]['html'][:160]}" for v in result["violations"]]
        if wrong:
            found[address] = wrong
    assert not found


@pytest.mark.parametrize("size", SIZES)
def test_no_screen_is_wider_than_the_glass_and_nothing_is_too_small_for_a_thumb(
    opened: Opened, served: Served, size: str
) -> None:
    """WCAG 2.2, 1.4.10 (reflow at 320 px is stricter than 360) and 2.5.8 (24 px at least); 44 px is the house's own."""
    page = opened(size)
    for address in screens(served):
        page.goto(served.address + address)
        page.wait_for_timeout(50)
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, address
        if size == "phone":
            assert page.evaluate(SMALL) == [], address


def test_the_first_page_is_light(opened: Opened, served: Served) -> None:
    """Under 200 kB over the wire, pictures aside."""
    page = opened()
    client = page.context.new_cdp_session(page)
    client.send("Network.enable")
    sizes: list[float] = []
    client.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
    page.goto(served.address + "/")
    page.wait_for_timeout(500)
    assert len(sizes) >= 5
    assert sum(sizes) < 200_000


def test_nothing_is_fetched_from_elsewhere(opened: Opened, served: Served) -> None:
    page = opened()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for address in PAGES:
        page.goto(served.address + address)
    assert all(url.startswith((served.address, "data:", "blob:")) for url in asked)


def test_from_a_pasted_advertisement_to_a_ceiling_with_the_keyboard_alone(opened: Opened, served_empty: Served) -> None:
    page = opened()
    page.goto(served_empty.address + "/new")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    page.locator("#advert").focus()
    page.keyboard.type("1964 Ostrel pickup, 61,200 miles. Solid frame. Grand Junction, CO. Asking $6,900.")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector("#take")
    assert page.input_value("[name=model_year]") == "1964"
    page.wait_for_selector(".line-of-life .gap", state="attached")
    page.locator("[name=body][value=pickup]").focus()
    page.keyboard.press("Space")
    for name, text in (("name", "Ostrel 60"), ("resale.low", "14000"), ("resale.likely", "17000"), ("resale.high", "21000")):
        page.locator(f"[name='{name}']").fill(text)
    page.locator("[name='resale.high']").press("Enter")
    page.wait_for_url("**/money", timeout=90_000)
    assert page.text_content(".head .price")


def test_what_was_typed_stays_where_something_is_wrong(opened: Opened, served_empty: Served) -> None:
    page = opened("phone")
    page.goto(served_empty.address + "/new/typed")
    page.locator("[name=body][value=van]").check(force=True)
    page.fill("[name=name]", "Quenby Parcel")
    page.fill("[name=model_year]", "19724")
    page.click("text=Put it on the bench")
    page.wait_for_selector("#model_year-wrong")
    assert page.input_value("[name=name]") == "Quenby Parcel"
    assert page.is_checked("[name=body][value=van]")
    assert page.evaluate("document.activeElement.name") == "model_year"


def test_what_was_typed_and_not_sent_can_be_brought_back(opened: Opened, served_empty: Served) -> None:
    page = opened()
    page.goto(served_empty.address + "/new/typed")
    page.fill("[name=name]", "Brannock Field")
    page.wait_for_timeout(500)
    page.goto(served_empty.address + "/")
    page.goto(served_empty.address + "/new/typed")
    assert page.input_value("[name=name]") == ""
    page.click("text=Bring it back")
    assert page.input_value("[name=name]") == "Brannock Field"


def test_a_lost_connection_is_told_and_the_form_goes_by_itself(opened: Opened, served_empty: Served) -> None:
    page = opened()
    page.goto(served_empty.address + "/new/typed")
    page.locator("[name=body][value=roadster]").check(force=True)
    page.fill("[name=name]", "Mardle Two")
    page.context.set_offline(True)
    page.click("text=Put it on the bench")
    page.wait_for_selector("text=No connection since")
    assert page.input_value("[name=name]") == "Mardle Two"
    page.context.set_offline(False)
    page.wait_for_url("**/money", timeout=15_000)
    assert [line.name for line in served_empty.desk.candidates()].count("Mardle Two") == 1


def test_what_another_records_shows_up_without_loading_anew(opened: Opened, served_empty: Served) -> None:
    page = opened()
    desk = served_empty.desk
    desk.open_candidate("Corrow Nine", "coupe", desk.people.owner().id)
    page.goto(served_empty.address + "/")
    desk.open_candidate("Tarrick short tub", "open-tub", desk.people.owner().id)
    page.wait_for_selector("text=Tarrick short tub", timeout=6_000)


def test_the_chosen_zone_follows_what_another_finds_on_it_and_what_is_recorded_next_is_no_conflict(
    opened: Opened, served_empty: Served
) -> None:
    page = opened()
    desk = served_empty.desk
    owner = desk.people.owner().id
    id = desk.open_candidate("Corrow Nine", "coupe", owner, model_year=1968)
    page.goto(f"{served_empty.address}/c/{id}/metal?zone=mc.sill.outer.l")
    assert "nobody has seen it" in page.locator("#chosen").inner_text()
    desk.record(id, "finding", {"zone": "mc.sill.outer.l", "sign": "bubbling", "source": "own-ground"}, owner)
    page.wait_for_selector("#chosen .mv >> text=bubbling", timeout=20_000)
    assert "nobody has seen it" not in page.locator("#chosen").inner_text()
    page.locator("#chosen button[value=hole]").click()
    page.wait_for_selector("#chosen .mv >> text=hole", timeout=20_000)
    assert len([entry for entry in desk.candidate(id).standing if entry.kind == "finding"]) == 2


def test_on_a_phone_the_zone_that_was_just_recorded_is_in_view(opened: Opened, served_empty: Served) -> None:
    desk = served_empty.desk
    id = desk.open_candidate("Far down", "coupe", desk.people.owner().id)
    page = opened("phone")
    page.goto(f"{served_empty.address}/c/{id}/metal")
    page.click("#chosen button[value=scale]")
    page.wait_for_url("**/metal?zone=*")
    page.wait_for_function("Math.abs(document.getElementById('chosen').getBoundingClientRect().top) < 60")
    page.click("text=Back to the drawing")
    page.wait_for_function("document.getElementById('drawing').getBoundingClientRect().top > -60")


def test_pictures_and_zips_are_sent_with_their_progress_and_come_to_the_form(
    opened: Opened, served_empty: Served, tmp_path: Path
) -> None:
    from test_taking_in import picture

    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("b.jpg", picture(5))
    page = opened("phone")
    page.goto(served_empty.address + "/new")
    page.wait_for_selector(".drop[data-ready]")
    page.set_input_files(
        "input[type=file]",
        [
            {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture(4)},
            {"name": "walk.zip", "mimeType": "application/zip", "buffer": packed.getvalue()},
            {"name": "note.txt", "mimeType": "text/plain", "buffer": b"no picture at all"},
        ],
    )
    page.wait_for_selector("#arrivals li:nth-child(3) :text('give JPEG')", timeout=20_000)
    page.click("text=Go on with these pictures")
    page.wait_for_selector("#take")
    assert page.locator("[name=picture]").count() == 2


def test_pictures_that_belong_to_no_vehicle_yet_are_offered_in_another_tab_and_not_taken_by_themselves(
    opened: Opened, served_empty: Served
) -> None:
    from test_taking_in import picture

    page = opened()
    page.set_default_timeout(60_000)
    page.goto(served_empty.address + "/new")
    page.wait_for_selector(".drop[data-ready]")
    page.set_input_files("input[type=file]", {"name": "early.jpg", "mimeType": "image/jpeg", "buffer": picture(6)})
    page.wait_for_selector("#arrivals li >> text=arrived")
    other = page.context.new_page()
    other.set_default_timeout(60_000)
    other.goto(served_empty.address + "/new/typed")
    other.wait_for_selector("#told >> text=1 file sent here earlier belongs to no vehicle yet.")
    assert other.locator("[name=picture]").count() == 0
    other.click("text=Take them in here")
    other.wait_for_selector("#take [name=picture]", state="attached")
    other.click("[aria-label='Leave early.jpg']")
    other.wait_for_selector("#arrivals li", state="detached")
    assert other.locator("[name=picture]").count() == 0
    other.reload()
    other.wait_for_selector(".drop[data-ready]")
    assert other.locator("#arrivals li, #told p").count() == 0


def test_another_place_is_another_row_and_the_line_of_life_follows(opened: Opened, served_empty: Served) -> None:
    page = opened()
    page.goto(served_empty.address + "/new/typed")
    page.fill("[name='history.0.place']", "Denver, CO")
    page.fill("[name='history.0.from']", "1964")
    page.fill("[name='history.0.to']", "1990")
    page.click("#more-life")
    assert page.input_value("[name='history.1.from']") == "1990"
    assert page.evaluate("document.activeElement.name") == "history.1.place"
    page.keyboard.type("Tucson, AZ")
    assert page.locator(".line-of-life .known").count() == 2
    assert "Tucson, AZ" in page.text_content(".line-of-life")


def test_without_scripts_a_candidate_can_still_be_taken_in(opened: Opened, served_empty: Served) -> None:
    page = opened(java_script_enabled=False)
    page.goto(served_empty.address + "/new/typed")
    page.locator("[name=body][value=van]").check(force=True)
    page.fill("[name=name]", "Quenby Parcel by hand")
    page.click("text=Put it on the bench")
    page.wait_for_url("**/money")
