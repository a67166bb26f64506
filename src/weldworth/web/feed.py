"""What changed, as it changes: server-sent events."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import asdict

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from weldworth.workbench.desk import Desk

RETRY_MS = 3000
STILL_THERE = 15.0


async def events(request: Request, desk: Desk, since: int, seconds: float) -> AsyncIterator[str]:
    """Every change after number `since` as one event "change", for as long as the browser listens.

    seconds : between two looks. A comment every 15 s tells both sides that the line still holds.
    """
    yield f"retry: {RETRY_MS}\n\n"
    quiet = 0.0
    while not await request.is_disconnected():
        feed = await run_in_threadpool(desk.changes, since)
        for change in feed.changes:
            yield f"id: {change.number}\nevent: change\ndata: {json.dumps(asdict(change))}\n\n"
        quiet = 0.0 if feed.changes else quiet + seconds
        since = feed.last
        if quiet >= STILL_THERE:
            yield ": still here\n\n"
            quiet = 0.0
        await asyncio.sleep(seconds)
