"""A desk with invented vehicles, the pages over it, and a browser that looks at them."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher
from visiting import CHROMIUM, DEMO, FLAGS, SIZES, Opened, Served, StoppedClock, Visit, Visitor, make_desk, serving

from weldworth.web import passwords
from weldworth.web.app import create_app
from weldworth.web.settings import Settings, settings_for
from weldworth.workbench.desk import Desk


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "browser: looks at pages in a real browser; skipped, and said so, where there is none")


@pytest.fixture(autouse=True, scope="session")
def quick_hashes() -> Iterator[None]:
    """Passwords hashed with less work than in earnest."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(passwords, "_hasher", PasswordHasher(time_cost=1, memory_cost=1024, parallelism=1))
        yield


@pytest.fixture
def clock() -> StoppedClock:
    return StoppedClock()


@pytest.fixture
def desk(tmp_path: Path, clock: StoppedClock) -> Desk:
    """An empty desk."""
    return make_desk(tmp_path, clock)


@pytest.fixture
def visit(desk: Desk) -> Visit:
    """Makes a visitor; the door is open unless settings say otherwise."""

    def opened(settings: Settings | None = None, *, base: str = "http://127.0.0.1") -> Visitor:
        app = create_app(desk, settings or settings_for("127.0.0.1"))
        return Visitor(app, base_url=base, raise_server_exceptions=False)

    return opened


@pytest.fixture
def visitor(visit: Visit) -> Visitor:
    """The owner on this machine."""
    return visit()


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The demo vehicles, served for browsers."""
    desk = make_desk(tmp_path_factory.mktemp("served"))
    owner = desk.people.owner("R. Quillan")
    for folder in sorted(path.parent for path in DEMO.glob("*/candidate.toml")):
        desk.import_dossier(folder, owner.id)
    desk.refresh()
    yield from serving(desk)


@pytest.fixture(scope="session")
def served_empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """An empty desk, served for browsers."""
    yield from serving(make_desk(tmp_path_factory.mktemp("empty")))


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """A real browser; where there is none the tests that want it are skipped, and say so."""
    if not CHROMIUM.exists() or shutil.which(str(CHROMIUM)) is None:
        pytest.skip(f"NO BROWSER: {CHROMIUM} is not there, so no page was looked at in a browser; apt-get install chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def opened(chromium: Any) -> Iterator[Opened]:
    """Opens a page at one of SIZES; whatever the browser complains of fails the test."""
    contexts, complaints = [], []

    def page(size: str = "desk", scheme: str = "light", **more: Any) -> Any:
        width, height = SIZES[size]
        context = chromium.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme, has_touch=size == "phone", **more
        )
        contexts.append(context)
        found = context.new_page()
        found.on("console", lambda m: complaints.append(m.text) if m.type == "error" and "status of 4" not in m.text else None)
        found.on("pageerror", lambda error: complaints.append(str(error)))
        found.complaints = complaints
        return found

    yield page
    for context in contexts:
        context.close()
    assert not [text for text in complaints if "ERR_INTERNET_DISCONNECTED" not in text]
