"""Screenshots of every screen into docs/screens/, desktop and phone, light and dark: make screens. Needs Debian's chromium."""

from __future__ import annotations

import io
import socket
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import uvicorn
from PIL import Image
from playwright.sync_api import sync_playwright

import weldworth
from weldworth.bootstrap import open_desk
from weldworth.web.app import create_app
from weldworth.web.settings import settings_for
from weldworth.workbench.desk import Desk

ROOT = Path(__file__).parent.parent
TARGET = ROOT / "docs" / "screens"
DEMO = Path(weldworth.__file__).parent / "demo"
PICTURE = ROOT / "tests" / "picture" / "data" / "intake_panel_a.jpg"
CHROMIUM = "/usr/bin/chromium"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--no-first-run"]
SIZES = {"desktop": (1440, 900), "phone": (360, 740)}
QUALITY = 60
SHOP = {
    "bench": "/",
    "take-in": "/new",
    "type-it": "/new/typed",
    "shop": "/shop",
    "table": "/shop/tables/deal.csv",
    "people": "/people",
    "me": "/me",
    "programs": "/interface",
    "not-here": "/nowhere",
}
AT_THE_VEHICLE = "at-the-vehicle"
CANDIDATE = {
    "candidate": "",
    "metal": "/metal",
    "pictures": "/pictures",
    "money": "/money",
    "sales": "/money/sales",
    "asks": "/asks",
    "diary": "/diary",
    "then": "/diary/then/2",
    "walk": "/walk",
}


@contextmanager
def served(desk: Desk) -> Iterator[str]:
    """The desk on a free port of this machine."""
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(create_app(desk, settings_for("127.0.0.1")), log_level="error"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    server.should_exit = True
    thread.join(5)


def pages_of(desk: Desk) -> dict[str, str]:
    """Name -> address of every screen, of the candidate with most to ask for, with one picture on one of its zones."""
    id = max((line.id for line in desk.candidates()), key=lambda one: len(desk.best_asks(one).asks))
    owner = desk.people.owner()
    zone = desk.metal(id).plan.zones[0].id
    picture = desk.add_picture(id, PICTURE.read_bytes(), PICTURE.name, owner.id, zones=[zone], source="asked-picture")
    asks = [f"{one.kind}:{one.zone}" for one in desk.best_asks(id).asks if one.kind in ("picture", "question")]
    _, secret = desk.links.make(id, asks, owner.id)
    found = {**SHOP, **{name: f"/c/{id}{page}" for name, page in CANDIDATE.items()}, "zone": f"/c/{id}/metal?zone={zone}"}
    found["picture"] = f"/c/{id}/pictures/{picture.body['sha256']}"
    return found | {"seller": f"/s/{secret}", AT_THE_VEHICLE: f"/c/{id}/walk?minutes=15"}


def take(page: Any, file: Path) -> None:
    """The page as it stands, as a small WebP."""
    Image.open(io.BytesIO(page.screenshot())).convert("RGB").save(file, "WEBP", quality=QUALITY, method=6)


def main() -> None:
    """Writes the screenshots and the page that lists them."""
    TARGET.mkdir(exist_ok=True)
    for old in TARGET.glob("*.webp"):
        old.unlink()
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        desk = open_desk(Path(place))
        owner = desk.people.owner()
        for folder in sorted(path.parent for path in DEMO.glob("*/candidate.toml")):
            desk.import_dossier(folder, owner.id)
        desk.refresh()
        pages = pages_of(desk)
        desk.refresh()
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        with served(desk) as address:
            for size, (width, height) in SIZES.items():
                for scheme in ("light", "dark"):
                    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
                    page = context.new_page()
                    for name, where in pages.items():
                        page.goto(address + where)
                        if name == AT_THE_VEHICLE:
                            page.click("text=Begin this walk")
                        page.wait_for_timeout(400)
                        take(page, TARGET / f"{name}-{size}-{scheme}.webp")
                        print(f"{name} {size} {scheme}")
                    context.close()
        browser.close()
    lines = ["# Every screen", "", "Made by `make screens` from the demo vehicles; the first glass of each page.", ""]
    looks = [(size, scheme) for size in SIZES for scheme in ("light", "dark")]
    for name in pages:
        shots = " ".join(f"![{name}, {size}, {scheme}]({name}-{size}-{scheme}.webp)" for size, scheme in looks)
        lines += [f"## {name.replace('-', ' ')}", "", shots, ""]
    (TARGET / "README.md").write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
