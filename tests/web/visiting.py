"""What the tests of the pages work with: a desk, a visitor without scripts, a desk that listens on a port."""

from __future__ import annotations

import re
import socket
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import uvicorn
from fastapi.testclient import TestClient

import weldworth
from weldworth.picture.eye import Eye
from weldworth.picture.folder import PictureFolder
from weldworth.store.folders import DossierFolders, TableShelf
from weldworth.store.sqlite import SqliteStore
from weldworth.tables import load_tables
from weldworth.web.app import create_app
from weldworth.web.settings import settings_for
from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import Seen

DEMO = Path(weldworth.__file__).parent / "demo"
CHROMIUM = Path("/usr/bin/chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--no-first-run"]

AXE = Path(__file__).parent / "vendor" / "axe.min.js"
SIZES = {"desk": (1440, 900), "phone": (360, 740)}
SMALL = """() => [...document.querySelectorAll('nav a, main :is(a, button, select, summary, input:not([type=hidden]))')]
  .filter(one => one.offsetParent && !one.closest('h3, p, td, dd, li, .note, .vh, .key') && getComputedStyle(one).opacity !== '0')
  .map(one => [one.outerHTML.slice(0, 90), one.getBoundingClientRect()])
  .filter(([, box]) => box.height < 43.5 && box.width > 2).map(([text, box]) => `${Math.round(box.height)} ${text}`)"""
Opened = Callable[..., Any]
"""Opens a page at one of SIZES."""


def unpictured(place: Path, name: str) -> Path:
    """A demo dossier as the shop had it before a picture came: a copy in `place` without its pictures."""
    folder = place / name
    folder.mkdir(parents=True)
    text = (DEMO / name / "candidate.toml").read_text(encoding="utf-8").partition("\n[[picture]]")[0]
    lines = [line for line in text.splitlines() if not line.startswith("picture = ")]
    (folder / "candidate.toml").write_text("\n".join([*lines, ""]), encoding="utf-8")
    return folder


@dataclass
class StoppedClock:
    """A clock that stands until it is moved."""

    at: datetime = field(default_factory=lambda: datetime(2026, 11, 25, 15, 28, tzinfo=UTC))

    def now(self) -> datetime:
        return self.at

    def today(self) -> date:
        return self.at.date()

    def wait(self, **span: float) -> None:
        self.at += timedelta(**span)


SEEN: dict[tuple[str, str], Seen] = {}
"""What was seen of a picture is the same in every test, so the desks of one run look at each picture once."""


def make_desk(place: Path, clock: StoppedClock | None = None) -> Desk:
    """A desk with an empty store; pictures lie in `place`."""
    pictures = PictureFolder(place / "pictures")
    eye = Eye(pictures, SEEN)
    return Desk(
        SqliteStore(place / "weldworth.sqlite"),
        load_tables(),
        clock or StoppedClock(),
        pictures,
        shelf=TableShelf(place / "tables"),
        folders=DossierFolders(),
        eye=eye,
    )


class Visitor(TestClient):
    """A browser without scripts: follows pages and sends the forms on them with their token."""

    def page(self, address: str, status: int = 200) -> str:
        answer = self.get(address, headers={"accept": "text/html"})
        assert answer.status_code == status, answer.text[:600]
        return answer.text

    def told(self, address: str, status: int = 200) -> str:
        """The page without the shipped style and script that may stand in it, the same for everybody."""
        return re.sub(r'<(style|script type="module")>.*?</(style|script)>', "", self.page(address, status), flags=re.DOTALL)

    def token(self, address: str = "/") -> str:
        return self.page(address).partition('name="form-token" content="')[2].partition('"')[0]

    def submit(self, address: str, fields: dict[str, Any] | None = None, *, of: str = "/", **more: Any) -> Any:
        data = {"form_token": self.token(of), **(fields or {})}
        headers = {"accept": "text/html", **more.pop("headers", {})}
        return self.post(address, data=data, headers=headers, follow_redirects=False, **more)


Visit = Callable[..., Visitor]


@dataclass
class Served:
    """A desk that listens on a port of this machine."""

    address: str
    desk: Desk


def serving(desk: Desk) -> Iterator[Served]:
    """Serve until the caller is done."""
    listening = socket.create_server(("127.0.0.1", 0))
    config = uvicorn.Config(create_app(desk, settings_for("127.0.0.1")), log_level="error", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield Served(f"http://127.0.0.1:{listening.getsockname()[1]}", desk)
    server.should_exit = True
    thread.join(5)
