"""The seller's page in a real browser with the network cut, the desk killed, two tabs, large text and another language."""

from __future__ import annotations

import base64
import hashlib
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from phones import ASKS, OwnDesk, dark_photo, file, photo
from visiting import AXE, CHROMIUM, FLAGS, SIZES, Opened, Served

from weldworth.web.app import create_app
from weldworth.web.settings import Settings
from weldworth.workbench.desk import Desk

pytestmark = pytest.mark.browser
CAMERA = ".ask:not([hidden]) [capture]"
PHONE = {"width": 360, "height": 740}
SMALL = """() => [...document.querySelectorAll('a, button, summary, label.btn')].filter(one => one.offsetParent)
  .map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect().height])
  .filter(([, height]) => height < 43.5).map(([text]) => text)"""


@pytest.fixture
def own(tmp_path: Path) -> Iterator[OwnDesk]:
    desk = OwnDesk(tmp_path / "home")
    yield desk
    desk.kill()


@pytest.fixture
def phone(chromium: Any, tmp_path: Path) -> Iterator[Callable[[], Any]]:
    """Opens the phone's browser with all that it kept from the last time."""
    opened: list[Any] = []

    def switched_on() -> Any:
        kept = chromium.browser_type.launch_persistent_context(
            tmp_path / "phone", executable_path=str(CHROMIUM), args=FLAGS, viewport=PHONE, has_touch=True
        )
        opened.append(kept)
        return kept

    yield switched_on
    for context in opened:
        context.close()


@pytest.fixture
def page_of(served: Served) -> Callable[..., str]:
    """Makes a page for a seller on the desk that is served; gives its address."""

    def made(*asks: str) -> str:
        desk = served.desk
        candidate = (
            next(line.id for line in desk.candidates() if line.body == "pickup")
            if any(line.body == "pickup" for line in desk.candidates())
            else desk.open_candidate("Ostrel Forager", "pickup", desk.people.owner().id)
        )
        _, secret = desk.links.make(candidate, asks or ASKS, desk.people.owner().id, vehicle="1964 pickup")
        return f"{served.address}/s/{secret}"

    return made


def ready(page: Any, address: str) -> None:
    page.goto(address)
    page.wait_for_selector("html[data-ready]")


def on_phone_only(page: Any, count: int) -> None:
    page.wait_for_selector(f"#local h2:text-is('On this phone only: {count}')", timeout=20_000)


def all_gone(page: Any, timeout: int = 90_000) -> None:
    page.wait_for_selector("#local h2:text-is('Nothing is waiting on this phone.')", timeout=timeout)


def hashes(pictures: list[bytes]) -> list[str]:
    return sorted(hashlib.sha256(data).hexdigest() for data in pictures)


def test_twenty_pictures_taken_without_reception_arrive_once_byte_for_byte(own: OwnDesk, phone: Callable[[], Any]) -> None:
    """Browser closed and opened again, reception that comes and goes, the desk killed in the middle of an upload."""
    candidate, path = own.link()
    own.start()
    context = phone()
    page = context.new_page()
    ready(page, own.address + path)
    page.wait_for_selector("html[data-kept=kept]")
    own.kill()
    context.set_offline(True)
    pictures = [photo(seed) for seed in range(20)]
    for number, data in enumerate(pictures):
        page.set_input_files(CAMERA, file(data, f"{number}.jpg"))
        on_phone_only(page, number + 1)
    context.close()

    context = phone()
    context.set_offline(True)
    page = context.new_page()
    ready(page, own.address + path)
    on_phone_only(page, 20)
    own.start()
    parts = own.home / "pictures" / "parts"
    for _ in range(4):
        context.set_offline(False)
        page.wait_for_timeout(350)
        context.set_offline(True)
        page.wait_for_timeout(150)
    context.set_offline(False)
    for _ in range(400):
        begun = [part.stat().st_size for part in parts.glob("*/*.part")]
        if any(begun):
            break
        time.sleep(0.005)
    own.kill()
    assert any(begun)
    assert len(own.arrived(candidate)) < 20
    page.wait_for_timeout(500)
    own.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    all_gone(page)
    assert sorted(own.arrived(candidate)) == hashes(pictures)
    desk = own.desk()
    assert all(desk.pictures.get(hashlib.sha256(data).hexdigest()) == data for data in pictures)
    assert not desk.verify(candidate)
    desk.store.close()


def test_two_tabs_send_each_picture_once_and_one_takes_over_when_the_other_closes(own: OwnDesk, phone: Callable[[], Any]) -> None:
    candidate, path = own.link()
    own.start()
    context = phone()
    first, second = context.new_page(), context.new_page()
    ready(first, own.address + path)
    ready(second, own.address + path)
    context.set_offline(True)
    pictures = [photo(seed) for seed in range(30, 36)]
    for tab, some in ((first, pictures[:3]), (second, pictures[3:])):
        for data in some:
            tab.set_input_files(CAMERA, file(data))
    on_phone_only(second, 6)
    context.set_offline(False)
    first.wait_for_timeout(60)
    first.close()
    all_gone(second)
    assert sorted(own.arrived(candidate)) == hashes(pictures)


def test_a_good_picture_is_thanked_for_and_a_dark_one_is_told_at_once_without_reception(
    opened: Opened, page_of: Callable[..., str]
) -> None:
    page = opened("phone")
    ready(page, page_of())
    page.set_input_files(CAMERA, file(photo(50)))
    page.wait_for_selector(".ask:not([hidden]) .ver h2:text-is('Good, thank you.')")
    page.click(".ask:not([hidden]) .ver button.go")
    page.click("text=never driven on salt")
    page.wait_for_selector("h1:has-text('Door')")
    all_gone(page)
    page.context.set_offline(True)
    page.set_input_files(CAMERA, file(dark_photo()))
    page.wait_for_selector(".ask:not([hidden]) .ver h2:has-text('Too dark')")
    on_phone_only(page, 1)
    page.set_input_files(CAMERA, file(photo(51)))
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    all_gone(page)


EARLY = """new MutationObserver((_, seen) => {
  const input = document.querySelector('.ask [capture]'), made = new DataTransfer();
  if (!input) return;
  seen.disconnect();
  made.items.add(new File([Uint8Array.from(atob('%s'), (one) => one.charCodeAt(0))], 'early.jpg', { type: 'image/jpeg' }));
  input.files = made.files;
}).observe(document, { childList: true, subtree: true })"""


def test_a_picture_taken_before_the_script_was_there_is_not_lost(
    opened: Opened, page_of: Callable[..., str], served: Served
) -> None:
    page, address = opened("phone"), page_of()
    page.add_init_script(EARLY % base64.b64encode(photo(52, (320, 240))).decode())
    ready(page, address)
    all_gone(page)
    link = served.desk.links.known(address.rpartition("/")[2])
    assert link is not None
    arrived = {picture.sha256 for picture in served.desk.candidate(link.candidate).pictures}
    assert hashlib.sha256(photo(52, (320, 240))).hexdigest() in arrived


def test_a_refused_picture_gives_way_to_the_next_and_a_page_that_was_closed_says_so(
    opened: Opened, page_of: Callable[..., str], served: Served
) -> None:
    page, address = opened("phone"), page_of()
    ready(page, address)
    page.set_input_files(CAMERA, file(b"no picture" * 99))
    page.wait_for_selector(".ask:not([hidden]) .ver h2:has-text('not a picture')")
    page.set_input_files(".ask:not([hidden]) [multiple]", file(photo(53)))
    page.wait_for_selector(".ask:not([hidden]) .ver h2:text-is('Good, thank you.')")
    link = served.desk.links.known(address.rpartition("/")[2])
    assert link is not None
    served.desk.links.end(link.id)
    page.set_input_files(CAMERA, file(photo(54)))
    page.wait_for_selector("#news:has-text('closed by whoever sent it')")
    assert "do not clear this page" not in page.text_content("#local")


def test_a_seller_says_cannot_stops_early_and_comes_back(opened: Opened, page_of: Callable[..., str], served: Served) -> None:
    page, address = opened("phone"), page_of()
    ready(page, address)
    page.click(".ask:not([hidden]) .can summary")
    page.click(".ask:not([hidden]) [data-why=unsafe]")
    page.wait_for_selector("h1:has-text('salted roads')")
    page.click("#early")
    page.wait_for_selector("#list li:nth-child(1) span:text-is('cannot')")
    page.click("#finish")
    page.wait_for_selector("#news:has-text('You can still come back')")
    all_gone(page)
    link = served.desk.links.known(address.rpartition("/")[2])
    assert link is not None
    assert link.finished_at
    ready(page, address)
    page.wait_for_selector("h1:has-text('salted roads'):visible")


def test_pictures_show_up_at_the_desk_and_one_more_ask_on_the_open_page(
    opened: Opened, page_of: Callable[..., str], served: Served
) -> None:
    address = page_of()
    desk: Desk = served.desk
    link = desk.links.known(address.rpartition("/")[2])
    assert link is not None
    buyer, seller = opened(), opened("phone")
    buyer.goto(f"{served.address}/c/{link.candidate}/pictures")
    ready(seller, address)
    seller.set_input_files(CAMERA, file(photo(60)))
    name = hashlib.sha256(photo(60)).hexdigest()
    buyer.wait_for_selector(f"img[src*='{name}']", timeout=20_000)
    desk.links.add(link.id, ["question:title"], desk.people.owner().id)
    seller.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    seller.wait_for_selector("#news:has-text('One more thing')")
    assert seller.locator("[data-ask='question:title']").count() == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_on_the_page_is_objected_to_by_axe_or_too_small_for_a_thumb(
    opened: Opened, page_of: Callable[..., str], scheme: str
) -> None:
    """axe-core 4.14, WCAG 2.0 to 2.2 at A and AA; reflow at 320 px is WCAG 1.4.10, twice the text size 1.4.4."""
    page = opened("phone", scheme, bypass_csp=True)
    ready(page, page_of())
    page.add_script_tag(path=str(AXE))
    for step in range(4):
        result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        assert [f"{v['id']}: {v['nodes'][0]['html'][:160]}" for v in result["violations"]] == []
        assert page.evaluate(SMALL) == []
        for width, size in ((320, ""), (360, "200%")):
            page.set_viewport_size({"width": width, "height": 740})
            page.evaluate("size => { document.documentElement.style.fontSize = size }", size)
            assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, (step, width, size)
        page.evaluate("document.documentElement.style.fontSize = ''")
        page.click("#early" if step == 2 else ".ask:not([hidden]) [data-go=on]") if step < 3 else None


def test_the_page_weighs_less_than_150_kilobytes(opened: Opened, page_of: Callable[..., str]) -> None:
    page = opened("phone")
    client = page.context.new_cdp_session(page)
    client.send("Network.enable")
    sizes: list[float] = []
    client.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
    ready(page, page_of())
    page.wait_for_timeout(500)
    assert len(sizes) >= 3
    assert sum(sizes) < 150_000


def test_a_spanish_phone_gets_a_spanish_page(opened: Opened, page_of: Callable[..., str]) -> None:
    page = opened("phone", locale="es-MX")
    ready(page, page_of())
    assert page.evaluate("document.documentElement.lang") == "es"
    page.set_input_files(CAMERA, file(photo(70)))
    page.wait_for_selector("h2:text-is('Bien, gracias.')")
    page.click("text=English")
    page.wait_for_selector("html[lang=en]")


def test_on_plain_http_the_page_says_that_it_cannot_be_kept_and_still_sends(chromium: Any, own: OwnDesk) -> None:
    """A name of the home network without https: browsers give no service worker and no hashes there."""
    candidate, path = own.link()
    listening = socket.create_server(("127.0.0.1", 0))
    desk = own.desk()
    server = uvicorn.Server(uvicorn.Config(create_app(desk, Settings()), log_level="error", timeout_graceful_shutdown=1))
    threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True).start()
    rules = "--host-resolver-rules=MAP desk.home.arpa 127.0.0.1"
    browser = chromium.browser_type.launch(executable_path=str(CHROMIUM), args=[*FLAGS, rules])
    try:
        page = browser.new_page(viewport=PHONE)
        ready(page, f"http://desk.home.arpa:{listening.getsockname()[1]}{path}")
        page.wait_for_selector("#local:has-text('plain http')")
        page.set_input_files(CAMERA, file(photo(80)))
        page.wait_for_selector("h2:text-is('Good, thank you.')")
    finally:
        browser.close()
        server.should_exit = True
    assert own.arrived(candidate) == hashes([photo(80)])
    desk.store.close()


@pytest.mark.parametrize("size", SIZES)
def test_the_list_of_pages_for_sellers_is_clean_and_fits(opened: Opened, served: Served, size: str) -> None:
    """axe-core 4.14, WCAG 2.0 to 2.2 at A and AA."""
    page = opened(size, bypass_csp=True)
    id = next(line.id for line in served.desk.candidates() if line.body == "open-tub")
    page.goto(f"{served.address}/c/{id}/asks")
    page.fill("#label", "Mr Dell")
    page.click("text=Make a page of the chosen")
    page.wait_for_selector(".page-made svg")
    page.add_script_tag(path=str(AXE))
    result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    assert [f"{v['id']}: {v['nodes'][0]['html'][:160]}" for v in result["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    assert size == "desk" or page.evaluate(SMALL) == []
