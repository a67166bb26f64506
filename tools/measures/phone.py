"""The seller's page on a slow phone, and a desk to which fifty sellers send at once: loopback alone, bounded."""

from __future__ import annotations

import hashlib
import http.client
import json
import os
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

from measures.figure import Figure

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "web"))
CHROMIUM = Path("/usr/bin/chromium")
SLOW_3G = {"offline": False, "latency": 2000, "downloadThroughput": 50_000, "uploadThroughput": 50_000}
"""What the browser's own developer tools call slow 3G: 2 s to an answer, 400 kbit/s."""
SELLERS, CANDIDATES, EACH, PIECE = 50, 10, 4, 262_144
ASKS = ("picture:ot.frame.rear_hanger.l", "picture:ot.floor.toe.l", "question:salted-winters", "question:title")
PAGES = ("/", "/people", "/c/{id}/diary", "/c/{id}/pictures", "/c/{id}/asks")
"""The bench and the pages of one of the candidates that are sent to; those of a candidate wait for its weighing."""


@dataclass(frozen=True)
class Slow:
    """Seconds until the first ask can be worked with, seconds until each later one, bytes over the line."""

    first: float
    later: float
    weight: float


@dataclass(frozen=True)
class Load:
    """What came of fifty sellers at once. pages : seconds that each page of the desk took meanwhile, by its path."""

    seconds: float
    errors: int
    lost: int
    megabytes: float
    pages: dict[str, list[float]]


def demo_desk(home: Path) -> tuple[Any, str]:
    """A shop with the demo vehicles, weighed; the id of the open tub."""
    from weldworth.bootstrap import open_desk

    desk = open_desk(home)
    owner = desk.people.owner("R. Quillan")
    for folder in sorted(path.parent for path in (ROOT / "src/weldworth/demo").glob("*/candidate.toml")):
        desk.import_dossier(folder, owner.id)
    desk.refresh()
    return desk, next(line.id for line in desk.candidates() if line.body == "open-tub")


def slow_phone() -> Slow:
    """The seller's page: until the camera can be used, until each later ask stands there."""

    def link(desk: Any, id: str, owner: str) -> str:
        return "/s/" + str(desk.links.make(id, ASKS, owner, vehicle="1964 tub")[1])

    def visit(page: Any, start: float) -> tuple[float, list[float]]:
        page.wait_for_selector("html[data-ready] .ask:not([hidden]) .cam")
        first, later = time.perf_counter() - start, []
        for _ in ASKS[1:]:
            before = page.inner_text(".ask:not([hidden]) h1")
            start = time.perf_counter()
            page.click(".ask:not([hidden]) [data-go=on]")
            page.wait_for_function("it => document.querySelector('.ask:not([hidden]) h1').innerText !== it", arg=before)
            later.append(time.perf_counter() - start)
        return first, later

    return _slow(link, visit)


def slow_walk() -> Slow:
    """The walk page of a helper: until the first stop stands there, until each of its first zones does."""
    from weldworth.workbench.walking import begin_walk

    def link(desk: Any, id: str, owner: str) -> str:
        walk = begin_walk(desk, id, "inspector-ground", 40, owner)
        return "/w/" + str(desk.links.make_walk(id, walk, owner)[1])

    def visit(page: Any, start: float) -> tuple[float, list[float]]:
        page.wait_for_selector("text=I am there")
        first, start = time.perf_counter() - start, time.perf_counter()
        page.click("text=I am there")
        page.wait_for_selector(".sg")
        return first, [time.perf_counter() - start]

    return _slow(link, visit)


def _slow(link: Callable[[Any, str, str], str], visit: Callable[[Any, float], tuple[float, list[float]]]) -> Slow:
    """Three visits on a processor four times slower and slow 3G, nothing kept from an earlier one: median, slowest, heaviest.

    link : desk, candidate, owner -> the page's path. visit : page on its way, when it was asked for -> first, later.
    """
    from phones import OwnDesk
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        own = OwnDesk(Path(place) / "home")
        desk, id = demo_desk(own.home)
        path = link(desk, id, desk.people.owner().id)
        desk.store.close()
        own.start()
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox", "--disable-gpu"])
        firsts, laters, weights = [], [], []
        try:
            for _ in range(3):
                context, page, sizes = _slow_page(browser)
                start = time.perf_counter()
                page.goto(own.address + path, wait_until="commit")
                first, later = visit(page, start)
                page.wait_for_load_state("networkidle")
                context.close()
                firsts.append(first)
                laters += later
                weights.append(sum(sizes))
        finally:
            browser.close()
            own.kill()
    return Slow(median(firsts), max(laters), max(weights))


def _slow_page(browser: Any) -> tuple[Any, Any, list[float]]:
    """A page of the slow phone, its context, and the bytes of each thing that it loads."""
    context = browser.new_context(viewport={"width": 360, "height": 740}, has_touch=True, service_workers="block")
    page = context.new_page()
    client = context.new_cdp_session(page)
    sizes: list[float] = []
    client.send("Network.enable")
    client.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
    client.send("Network.emulateNetworkConditions", SLOW_3G)
    client.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    return context, page, sizes


def load() -> Load:
    """Fifty sellers send four pictures each at once, while somebody turns the pages of the desk."""
    from phones import OwnDesk, photo

    with tempfile.TemporaryDirectory() as place:
        own = OwnDesk(Path(place) / "home")
        desk, id = demo_desk(own.home)
        owner = desk.people.owner().id
        tub = ROOT / "src/weldworth/demo/ostrel-forager"
        ids = [id, *(desk.import_dossier(tub, owner) for _ in range(CANDIDATES - 1))]
        desk.refresh(CANDIDATES)
        secrets = [desk.links.make(ids[n % CANDIDATES], ASKS, owner)[1] for n in range(SELLERS)]
        own.start()
        pictures = [[photo(1000 + EACH * seller + n, (800, 600)) for n in range(EACH)] for seller in range(SELLERS)]
        pages: dict[str, list[float]] = {path: [] for path in PAGES}
        stop = threading.Event()
        turning = threading.Thread(target=_turn_pages, args=(own.port, id, pages, stop))
        for path in PAGES:
            _fetched(own.port, path.format(id=id))
        turning.start()
        start = time.perf_counter()
        with ThreadPoolExecutor(SELLERS) as pool:
            work = [pool.submit(_send, own.port, secret, some) for secret, some in zip(secrets, pictures, strict=True)]
            errors = sum(one.result() for one in work)
        seconds = time.perf_counter() - start
        stop.set()
        turning.join()
        wanted = {hashlib.sha256(data).hexdigest() for some in pictures for data in some}
        came = [sha256 for one in ids for sha256 in own.arrived(one) if sha256 in wanted]
        lost = len(wanted - set(came)) + len(came) - len(set(came))
        own.kill()
        megabytes = sum(len(data) for some in pictures for data in some) / 1e6
        desk.store.close()
    return Load(seconds, errors, lost, megabytes, pages)


def _turn_pages(port: int, id: str, pages: dict[str, list[float]], stop: threading.Event) -> None:
    while not stop.is_set():
        for path, times in pages.items():
            start = time.perf_counter()
            _fetched(port, path.format(id=id))
            times.append(time.perf_counter() - start)
            if stop.wait(0.2):
                return


def _fetched(port: int, path: str) -> int:
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
    line.request("GET", path, headers={"accept": "text/html"})
    answer = line.getresponse()
    answer.read()
    line.close()
    return answer.status


def _send(port: int, secret: str, pictures: list[bytes]) -> int:
    """Send pictures as a phone does; how many answers were errors."""
    line, errors = http.client.HTTPConnection("127.0.0.1", port, timeout=120), 0

    def asked(method: str, id: str, body: bytes, headers: dict[str, str]) -> http.client.HTTPResponse:
        line.request(method, f"/s/{secret}/up/{id}", body, {"accept": "application/json", **headers})
        answer = line.getresponse()
        answer.read()
        return answer

    for number, data in enumerate(pictures):
        id = f"picture-{number:04}-{os.getpid()}"
        said = {"kind": "picture", "body": {"ask": ASKS[number % 2]}, "length": len(data)}
        said["sha256"] = hashlib.sha256(data).hexdigest()
        answer = asked("PUT", id, json.dumps(said).encode(), {"content-type": "application/json"})
        offset = 0
        while answer.status in (201, 204):
            answer = asked("PATCH", id, data[offset : offset + PIECE], {"upload-offset": str(offset)})
            offset += PIECE
        errors += answer.status != 200
    line.close()
    return errors


def measure() -> list[Figure]:
    return [*(_slow_figures() if CHROMIUM.exists() else []), *_load_figures()]


def _slow_figures() -> list[Figure]:
    on = "Chromium on this machine, processor 4 times slower, slow 3G: 2 s to an answer, 400 kbit/s; nothing kept"
    slow, walk = slow_phone(), slow_walk()
    light = slow.weight < 150e3
    return [
        Figure("first ask of a seller's page usable", round(slow.first, 2), "s", "within 5 s", slow.first < 5, "median of 3", on),
        Figure("each later ask", round(slow.later, 2), "s", "within 1 s", slow.later < 1, "slowest of 9", on),
        Figure("seller's page, pictures aside", round(slow.weight / 1000, 1), "kB", "under 150 kB", light, "over the line", on),
        Figure("first stop of a walk usable", round(walk.first, 2), "s", "within 5 s", walk.first < 5, "median of 3", on),
        Figure("first zone of a walk", round(walk.later, 2), "s", "within 1 s", walk.later < 1, "slowest of 3", on),
        Figure("walk page", round(walk.weight / 1000, 1), "kB", "under 150 kB", walk.weight < 150e3, "over the line", on),
    ]


def _load_figures() -> list[Figure]:
    came, on = load(), "this machine, loopback"
    count = f"{SELLERS} sellers, {SELLERS * EACH} pictures, {came.megabytes:.0f} MB in {came.seconds:.0f} s"
    found = [
        Figure("errors with fifty sellers sending", came.errors, "", "none", came.errors == 0, count, on),
        Figure("pictures lost or doubled", came.lost, "", "none", came.lost == 0, count, on),
    ]
    for path, times in came.pages.items():
        name = "the bench" if path == "/" else path.rpartition("/")[2] + (" of a candidate sent to" if "{id}" in path else "")
        for word, seconds in (("median", median(times)), ("slowest", max(times))):
            what, how = f"{name} meanwhile, {word}", f"{len(times)} times; {count}"
            found.append(Figure(what, round(seconds * 1e3), "ms", "under 500 ms", seconds < 0.5, how, on))
    return found
