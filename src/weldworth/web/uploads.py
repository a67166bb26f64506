"""How a phone sends what it holds: announced once, sent in pieces, resumed in the middle, taken exactly once.

The semantics are those of the open tus protocol 1.0 (HEAD tells the offset, PATCH adds at it) with one change: the phone makes
the id and announces with PUT, so that announcing again is harmless. See docs/phone.md.
"""

from __future__ import annotations

import asyncio
import errno
import logging
from collections import deque
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Annotated, Any, BinaryIO

from fastapi import APIRouter, Depends, Request
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse, Response

from weldworth.core.errors import BadInput, Problem
from weldworth.store.parts import Part, Parts
from weldworth.web.errors import DiskFull, TooLarge, TooOften, problems_of, shape
from weldworth.workbench.phone import PhoneLimits
from weldworth.workbench.ports import Receipt

log = logging.getLogger("weldworth.web")
OFFSET, LENGTH, RESUMABLE = "Upload-Offset", "Upload-Length", "Tus-Resumable"
HEAD_BYTES = 512
PIECE = 1 << 18
MISMATCH = 460
"""The status that the checksum extension of tus gives for bytes that are not those announced."""
BUSY = 4
"""Seconds after which to try again what somebody else is sending at this moment."""


class Announced(BaseModel):
    """What the phone says before it sends. waited : seconds since it was made, by the phone's own clock, right or wrong."""

    kind: str = Field(max_length=40)
    body: dict[str, Any] = Field(default_factory=dict)
    length: int = Field(default=0, ge=0)
    sha256: str | None = Field(default=None, pattern=r"^[0-9a-f]{64}$")
    name: str = Field(default="", max_length=200)
    waited: float = Field(default=0.0, ge=0)


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that has come whole. made_at : when it was made, by this machine's clock less what the phone says it waited."""

    id: str
    kind: str
    body: dict[str, Any]
    length: int
    sha256: str | None
    name: str
    made_at: datetime


@dataclass(frozen=True)
class Inbox:
    """Where the things of one phone go.

    owner : as in its receipts. receipt : what is kept of the thing with an id, or None. announce : raises BadInput or a Refusal
    for what will not be taken. look : the same for the first bytes of a file. take : records it with its file and returns the
    receipt; raises BadInput where it cannot be used. refuse : keeps that, with its problems. All but `look` run in a thread.
    """

    owner: str
    limits: PhoneLimits
    now: Callable[[], datetime]
    receipt: Callable[[str], Receipt | None]
    announce: Callable[[Announced], None]
    look: Callable[[str, bytes], None]
    take: Callable[[Item, Path | None], Receipt]
    refuse: Callable[[Item, BadInput], Receipt]


@dataclass
class Uploads:
    """What is on its way at this moment. parts : on the disk. Made once for the application."""

    parts: Parts
    _turn: dict[tuple[str, str], object] = field(default_factory=dict)
    _asked: dict[str, deque[datetime]] = field(default_factory=dict)
    _taking: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(1))

    def pace(self, inbox: Inbox) -> None:
        """Count one request. Raises TooOften where the owner asks more often than the limits let him."""
        now, times = inbox.now(), self._asked.setdefault(inbox.owner, deque())
        while times and times[0] <= now - timedelta(minutes=1):
            times.popleft()
        if len(times) >= inbox.limits.per_minute:
            wait = int((times[0] + timedelta(minutes=1) - now).total_seconds()) + 1
            raise TooOften(f"More is sent than can be taken in. It goes on by itself in {wait} seconds.", wait)
        times.append(now)

    async def begin(self, inbox: Inbox, id: str, said: Announced) -> Response:
        """Announce a thing, or ask how much of it has come. What comes without a file is taken at once."""
        self.pace(inbox)
        known = await run_in_threadpool(inbox.receipt, id)
        if known is not None:
            return done(known)
        if said.length > inbox.limits.item_bytes:
            most = inbox.limits.item_bytes / 1e6
            raise TooLarge(f"This is {said.length / 1e6:.0f} MB; {most:.0f} MB are the most. Take it again at a smaller size.")
        await run_in_threadpool(inbox.announce, said)
        made_at = inbox.now() - timedelta(seconds=min(said.waited, inbox.limits.part_days * 86400))
        about = {**said.model_dump(exclude={"length", "waited"}), "made_at": made_at.isoformat()}
        if said.length == 0:
            return await self._whole(inbox, id, Part(Path(), 0, about))
        if self.parts.free() < said.length + inbox.limits.reserve_bytes:
            raise DiskFull(FULL)
        with _room():
            part = await run_in_threadpool(self.parts.begin, inbox.owner, id, said.length, about)
        if part.offset == part.length:
            return await self._whole(inbox, id, part)
        return JSONResponse({"done": False, "offset": part.offset}, 201, {OFFSET: str(part.offset), RESUMABLE: "1.0.0"})

    async def offset(self, inbox: Inbox, id: str) -> Response:
        """How much has come."""
        self.pace(inbox)
        known = await run_in_threadpool(inbox.receipt, id)
        if known is not None:
            return Response(headers={OFFSET: str(known.length), LENGTH: str(known.length), RESUMABLE: "1.0.0"})
        part = self.parts.find(inbox.owner, id)
        if part is None:
            return Response(status_code=404)
        return Response(headers={OFFSET: str(part.offset), LENGTH: str(part.length), RESUMABLE: "1.0.0"})

    async def add(self, inbox: Inbox, id: str, request: Request) -> Response:
        """Add bytes at the offset that the phone names. A later request for the same thing puts an earlier one aside."""
        self.pace(inbox)
        known = await run_in_threadpool(inbox.receipt, id)
        if known is not None:
            return done(known)
        part = self.parts.find(inbox.owner, id)
        if part is None:
            return Response(status_code=404)
        turn = self._turn[(inbox.owner, id)] = object()
        try:
            if request.headers.get(OFFSET) != str(part.offset):
                return Response(status_code=409, headers={OFFSET: str(part.offset)})
            try:
                await self._pour(request.stream(), part, inbox, lambda: self._turn.get((inbox.owner, id)) is turn)
            except BadInput as error:
                return await self._refused(inbox, id, part, error)
            if part.offset < part.length:
                return Response(status_code=204, headers={OFFSET: str(part.offset), RESUMABLE: "1.0.0"})
            return await self._whole(inbox, id, part)
        except ClientDisconnect:
            return Response(status_code=204)
        finally:
            if self._turn.get((inbox.owner, id)) is turn:
                del self._turn[(inbox.owner, id)]

    async def put(self, inbox: Inbox, id: str, said: Announced, file: BinaryIO | None) -> Response:
        """Announce a thing and take it whole, as a form without a script sends it; the same form again changes nothing."""
        answer = await self.begin(inbox, id, said)
        part = self.parts.find(inbox.owner, id) if answer.status_code == 201 else None
        if part is None or file is None:
            return answer
        part.empty()

        async def pieces() -> AsyncIterator[bytes]:
            while piece := await run_in_threadpool(file.read, PIECE):
                yield piece

        try:
            await self._pour(pieces(), part, inbox, lambda: True)
        except BadInput as error:
            return await self._refused(inbox, id, part, error)
        return await self._whole(inbox, id, part)

    async def _pour(self, pieces: AsyncIterator[bytes], part: Part, inbox: Inbox, mine: Callable[[], bool]) -> None:
        head = b"" if part.offset == 0 else None
        async for data in pieces:
            if not mine():
                raise TooOften("The same is being sent from another page. It goes on by itself.", BUSY)
            if part.offset + len(data) > part.length:
                raise TooLarge(f"More came than the {part.length} bytes announced.")
            with _room():
                part.add(data)
            if head is not None:
                head += data
                if len(head) >= HEAD_BYTES or part.offset == part.length:
                    inbox.look(str(part.about["kind"]), head)
                    head = None

    async def _whole(self, inbox: Inbox, id: str, part: Part) -> Response:
        """Take what has come whole: one after another, so that pages stay quick while many send."""
        async with self._taking:
            known = await run_in_threadpool(inbox.receipt, id)
            if known is None:
                item = item_of(id, part)
                if part.length and item.sha256 is not None and await run_in_threadpool(part.sha256) != item.sha256:
                    part.empty()
                    return Response(status_code=MISMATCH, headers={OFFSET: "0"})
                try:
                    with _room():
                        known = await run_in_threadpool(inbox.take, item, part.path if part.length else None)
                except BadInput as error:
                    return await self._refused(inbox, id, part, error)
            if part.length:
                await run_in_threadpool(part.drop)
        return done(known)

    async def _refused(self, inbox: Inbox, id: str, part: Part, error: BadInput) -> Response:
        receipt = await run_in_threadpool(inbox.refuse, item_of(id, part), error)
        if part.length:
            await run_in_threadpool(part.drop)
        return done(receipt)


FULL = "The disk of the desk is full, so this waits on the phone. It goes by itself once there is room."


class _room:
    """Turns a full disk into DiskFull."""

    def __enter__(self) -> None: ...

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            log.warning("no room for an upload: %s", error)
            raise DiskFull(FULL) from None


def item_of(id: str, part: Part) -> Item:
    """The thing as announced."""
    about: dict[str, Any] = dict(part.about)
    made_at = datetime.fromisoformat(about["made_at"])
    return Item(id, about["kind"], about["body"], part.length, about["sha256"], about["name"], made_at)


def done(receipt: Receipt) -> Response:
    """What the phone is told of a thing that is settled: taken with the reply, or refused with why."""
    if receipt.state == "refused":
        problems = [Problem(str(one["where"]), str(one["text"])) for one in receipt.reply["problems"]]  # type: ignore[attr-defined]
        return JSONResponse(shape("bad-input", problems), 422)
    headers = {OFFSET: str(receipt.length), RESUMABLE: "1.0.0"}
    return JSONResponse({"done": True, "offset": receipt.length, "reply": dict(receipt.reply)}, headers=headers)


def refusal_of(error: BadInput) -> dict[str, object]:
    """The reply of a receipt for what was refused."""
    return {"problems": [{"where": one.where, "text": one.text} for one in problems_of(error)]}


def uploads_of(request: Request) -> Uploads:
    """What is on its way in this application."""
    found: Uploads = request.app.state.uploads
    return found


TheUploads = Annotated[Uploads, Depends(uploads_of)]


def add_upload_routes(router: APIRouter, base: str, inbox_of: Callable[..., Inbox | Awaitable[Inbox]]) -> None:
    """Put the three addresses of the protocol at `base`/{item}. inbox_of : a dependency that says where things go."""
    Into = Annotated[Inbox, Depends(inbox_of)]

    async def begin(item: str, said: Announced, inbox: Into, uploads: TheUploads) -> Response:
        return await uploads.begin(inbox, item, said)

    async def offset(item: str, inbox: Into, uploads: TheUploads) -> Response:
        return await uploads.offset(inbox, item)

    async def add(item: str, request: Request, inbox: Into, uploads: TheUploads) -> Response:
        return await uploads.add(inbox, item, request)

    for work, method in ((begin, "PUT"), (offset, "HEAD"), (add, "PATCH")):
        work.__annotations__["inbox"] = Into
        router.add_api_route(base + "/{item}", work, methods=[method], include_in_schema=False)
