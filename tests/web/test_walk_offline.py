"""A walk without reception in a real browser: everything taken arrives once and in order, whatever happens to the phone."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from test_walk_in_browser import candidate, recorded
from test_walk_page import noise
from visiting import CHROMIUM, FLAGS, Served, StoppedClock

pytestmark = pytest.mark.browser
FAKED = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
LINE = timedelta(seconds=30)
"""How far a slow line may put a time off: it is the desk's clock, as the thing comes, less how long it lay on the phone."""
SIGNS = ("soft", "bubbling", "scale", "hole", "staining", "pitting", "wet", "mud", "filler", "patch", "rings", "dull", "dents")


class Phone:
    """A browser that keeps what it has over being closed."""

    def __init__(self, chromium: Any, place: Path) -> None:
        self.chromium, self.place = chromium, place
        self.start()

    def start(self, *, offline: bool = False) -> None:
        self.context = self.chromium.browser_type.launch_persistent_context(
            self.place,
            executable_path=str(CHROMIUM),
            args=[*FLAGS, *FAKED],
            viewport={"width": 360, "height": 740},
            has_touch=True,
            permissions=["microphone"],
            offline=offline,
        )
        self.page = self.context.pages[0]
        self.page.set_default_timeout(60_000)

    def stop(self) -> None:
        self.context.close()


@pytest.fixture
def phone(chromium: Any, tmp_path: Path) -> Iterator[Phone]:
    found = Phone(chromium, tmp_path / "phone")
    yield found
    found.stop()


def begin(phone: Phone, served: Served) -> str:
    """Begin a walk, wait until the page is on the phone, and give its address."""
    page = phone.page
    page.goto(f"{served.address}/c/{candidate(served)}/walk?minutes=40")
    page.click("text=Begin this walk")
    page.wait_for_selector("text=I am there")
    page.click(".status")
    page.wait_for_selector("text=This page is on the phone", timeout=30_000)
    page.click("text=Back to the walk")
    return str(page.url)


def find(page: Any, sign: str) -> None:
    """Keep a finding in two taps, and go on to the next zone."""
    if page.query_selector("text=I am there"):
        page.click("text=I am there")
    while page.query_selector(".pad"):
        page.click(".tail >> text=Next")
        if page.query_selector("text=I am there"):
            page.click("text=I am there")
    word = sign.replace("-", " ")
    if sign in ("rings", "dull", "dents"):
        page.click(".tabs >> text=Probe")
    page.click(f".sg button:text-is('{word}')")
    page.click("text=It is there")
    page.wait_for_selector(f"text=Kept: {word}")
    page.click(".tail >> text=Next")


def photograph(page: Any, number: int) -> None:
    if page.query_selector("text=I am there"):
        page.click("text=I am there")
    file = {"name": "image.jpg", "mimeType": "image/jpeg", "buffer": noise(number)}
    page.set_input_files("input[type=file]", file)
    page.wait_for_selector("text=Kept: picture")


class RunningClock(StoppedClock):
    """A clock that runs from where the stopped one stands."""

    def __init__(self) -> None:
        super().__init__()
        self.begun = time.monotonic()

    def now(self) -> datetime:
        return self.at + timedelta(seconds=time.monotonic() - self.begun)


def test_fifteen_findings_three_pictures_and_a_memo_taken_offline_arrive_once_and_in_order(
    phone: Phone, served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(served.desk, "clock", RunningClock())
    address = begin(phone, served)
    phone.context.set_offline(True)
    page, meant = phone.page, []
    for number, sign in enumerate((*SIGNS, "hole", "scale")):
        find(page, sign)
        meant.append(("finding", sign))
        if number in (2, 6, 10):
            photograph(page, number)
            meant.append(("picture", hashlib.sha256(noise(number)).hexdigest()))
        if number == 8:
            if page.query_selector("text=I am there"):
                page.click("text=I am there")
            page.click(".tail >> text=Voice")
            page.wait_for_selector("text=0:02", timeout=10_000)
            page.click("text=Stop and keep it")
            page.wait_for_selector("text=Kept: memo")
            meant.append(("memo", None))
    page.wait_for_selector("text=19 only on this phone")
    assert recorded(served) == []

    phone.stop()
    phone.start(offline=True)
    page = phone.page
    page.goto(address)
    page.wait_for_selector("text=19 only on this phone")
    page.click(".status")
    assert page.locator(".records li").count() == 19
    phone.context.set_offline(False)
    page.wait_for_selector("text=/Everything has been sent|not taken/", timeout=120_000)
    assert "not taken" not in page.inner_text("#walk")

    kept = recorded(served)
    said = [(one.kind, one.body.get("sign") or (one.body["sha256"] if one.kind == "picture" else None)) for one in kept]
    assert said == meant
    taken = [datetime.fromisoformat(str(one.body["taken_at"])) for one in kept]
    assert all(after > before - LINE for before, after in pairwise(taken))
    assert kept[0].at - taken[0] > timedelta(seconds=5)
    for one in kept:
        if one.kind in ("picture", "memo"):
            data = served.desk.pictures.get(str(one.body["sha256"]))
            assert hashlib.sha256(data).hexdigest() == one.body["sha256"]
    memo = next(one for one in kept if one.kind == "memo")
    assert 1.5 < memo.body["seconds"] < 10


def test_with_reception_coming_and_going_nothing_is_doubled_or_lost(phone: Phone, served: Served) -> None:
    begin(phone, served)
    for number, sign in enumerate(SIGNS[:8]):
        phone.context.set_offline(number % 2 == 0)
        find(phone.page, sign)
    photograph(phone.page, 21)
    phone.context.set_offline(False)
    phone.page.wait_for_selector("text=all sent", timeout=120_000)
    kept = [one.body.get("sign") for one in recorded(served)]
    assert kept == [*SIGNS[:8], None]


def test_what_was_taken_back_offline_never_stands_at_the_desk(phone: Phone, served: Served) -> None:
    begin(phone, served)
    phone.context.set_offline(True)
    page = phone.page
    page.click("text=I am there")
    page.click(".sg button:text-is('hole')")
    page.click("text=It is there")
    page.wait_for_selector("text=Kept: hole")
    page.click("text=Take back")
    page.wait_for_function("() => !document.querySelector('.kept-here').textContent")
    page.reload()
    page.wait_for_selector("text=only on this phone")
    assert not page.text_content(".kept-here")
    phone.context.set_offline(False)
    page.wait_for_selector("text=all sent", timeout=30_000)
    assert recorded(served) == []


def test_what_the_desk_refuses_is_told_and_can_be_let_go(phone: Phone, served: Served) -> None:
    begin(phone, served)
    phone.context.set_offline(True)
    page = phone.page
    page.click("text=I am there")
    page.set_input_files("input[type=file]", {"name": "image.jpg", "mimeType": "image/jpeg", "buffer": b"no picture" * 90})
    page.wait_for_selector("text=Kept: picture")
    phone.context.set_offline(False)
    page.wait_for_selector("text=1 not taken", timeout=30_000)
    page.click(".status")
    page.wait_for_selector("text=what is asked for is a picture")
    page.click("text=Let it go")
    page.wait_for_selector("text=all sent")
    assert recorded(served) == []


def test_the_walk_cannot_be_ended_while_something_is_only_on_the_phone(phone: Phone, served: Served) -> None:
    begin(phone, served)
    phone.context.set_offline(True)
    page = phone.page
    find(page, "hole")
    if page.query_selector("text=I am there"):
        page.click("text=I am there")
    page.click(".top button >> nth=0")
    page.click(".top button >> nth=0")
    page.click("text=End the walk")
    assert page.is_disabled("text=End it and see what changed")
    phone.context.set_offline(False)
    page.wait_for_selector("button:has-text('End it and see'):not([disabled])", timeout=30_000)


def test_a_memo_that_is_cancelled_is_not_kept(phone: Phone, served: Served) -> None:
    begin(phone, served)
    page = phone.page
    page.click("text=I am there")
    page.click(".tail >> text=Voice")
    page.wait_for_selector("text=0:01")
    page.click("dialog >> text=Cancel")
    page.wait_for_timeout(500)
    assert recorded(served) == [] and "memo" not in page.text_content("#walk")
