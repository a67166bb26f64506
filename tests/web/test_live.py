"""What changes shows up by itself: the feed, and what is weighed in the background."""

from __future__ import annotations

import asyncio
import json
import time
from concurrent.futures import ThreadPoolExecutor

from visiting import Visit, Visitor

from weldworth.web.feed import events
from weldworth.workbench.desk import Desk


class Listening:
    """A browser that hangs up after some looks."""

    def __init__(self, looks: int) -> None:
        self.looks = looks

    async def is_disconnected(self) -> bool:
        self.looks -= 1
        return self.looks < 0


def heard(desk: Desk, since: int) -> list[dict[str, object]]:
    """What a browser that listens from `since` hears in two looks."""

    async def listen() -> str:
        return "".join([text async for text in events(Listening(2), desk, since, 0.0)])  # type: ignore[arg-type]

    with ThreadPoolExecutor(1) as elsewhere:
        text = elsewhere.submit(lambda: asyncio.run(listen())).result()
    blocks = [block for block in text.split("\n\n") if "event: change" in block]
    return [json.loads(line[6:]) for block in blocks for line in block.splitlines() if line.startswith("data: ")]


def test_a_change_is_told_once_with_who_made_it(desk: Desk) -> None:
    """HTML standard, section 9.2 'Server-sent events': fields id, event, data; a blank line ends an event."""
    owner = desk.people.owner("R. Quillan")
    id = desk.open_candidate("Ostrel", "pickup", owner.id)
    told = heard(desk, 0)
    assert [(one["candidate"], one["kind"], one["by_name"]) for one in told] == [(id, "opened", "R. Quillan")]
    assert heard(desk, int(str(told[-1]["number"]))) == []


def test_the_background_weighs_what_is_out_of_date(visit: Visit, desk: Desk) -> None:
    visitor: Visitor = visit()
    with visitor:
        visitor.submit("/demo")
        deadline = time.monotonic() + 240
        while time.monotonic() < deadline and not all(line.fresh for line in desk.candidates()):
            time.sleep(0.1)
    assert all(line.ceiling is not None for line in desk.candidates())


def test_a_page_that_is_being_weighed_says_so_and_looks_again(visitor: Visitor) -> None:
    visitor.submit("/demo")
    assert "data-pending" in visitor.page("/")


def test_the_calendar_names_what_closes(visitor: Visitor, desk: Desk) -> None:
    visitor.submit("/demo")
    answer = visitor.get("/calendar.ics")
    assert answer.headers["content-type"].startswith("text/calendar")
    closing = [line for line in desk.candidates() if line.closes]
    assert answer.text.count("BEGIN:VEVENT") == len(closing) > 0


def test_a_drawing_is_a_picture_of_its_own(visitor: Visitor) -> None:
    answer = visitor.get("/drawings/pickup/left.svg")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert visitor.get("/drawings/spaceship/left.svg").status_code == 404
    assert visitor.get("/drawings/pickup/..%2f..%2fsecret.svg").status_code in (404, 422)
