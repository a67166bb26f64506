"""The web application: middleware, routes and what happens to errors, put together in one place."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from typing import cast

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response

import weldworth
from weldworth.core.errors import BadInput, Conflict, NotAllowed, NotFound, WeldworthError
from weldworth.picture.folder import PictureFolder
from weldworth.store.parts import Parts
from weldworth.web import pages, static_files
from weldworth.web.api import links, looking, walks
from weldworth.web.api import routes as api
from weldworth.web.errors import FormStale, NotKnown, Refusal, TooOften, as_json, log, problems_of, status_of
from weldworth.web.guard import known, own_form, shut
from weldworth.web.limits import Tries
from weldworth.web.pages import door
from weldworth.web.render import refusal
from weldworth.web.settings import Settings
from weldworth.web.shield import Shield
from weldworth.web.uploads import Uploads
from weldworth.workbench.desk import Desk
from weldworth.workbench.phone import phone_limits

QUIET = 0.7
AT_ONCE = 4
TITLES: dict[type[BaseException], str] = {
    NotFound: "Not here",
    Conflict: "Changed since you opened it",
    NotAllowed: "Not yours to do",
    FormStale: "From an earlier visit",
    BadInput: "This cannot be used",
}


def create_app(desk: Desk, settings: Settings | None = None) -> FastAPI:
    """The application over one desk. settings : the open door on this machine where None."""
    app = FastAPI(
        title="weldworth",
        version=weldworth.__version__,
        description=api.DESCRIPTION,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/v1/openapi.json",
        redirect_slashes=False,
        lifespan=weighing_ahead,
    )
    app.state.desk, app.state.settings, app.state.tries = desk, settings or Settings(), Tries()
    app.state.uploads = Uploads(Parts(cast(PictureFolder, desk.pictures).root / "parts"))
    for programs in (api.router, links.router, looking.router, walks.router):
        app.include_router(programs, dependencies=[Depends(shut)])
    for name, router in pages.routers():
        needed = [shut] if name in pages.LINKED else [shut, own_form] if name in pages.OPEN else [shut, own_form, known]
        app.include_router(router, dependencies=[Depends(one) for one in needed], include_in_schema=False)
    app.add_api_route(static_files.PREFIX + "{path:path}", static_files.serve, include_in_schema=False, methods=["GET", "HEAD"])
    app.add_middleware(GZipMiddleware, minimum_size=700, compresslevel=5)
    app.add_middleware(Shield, settings=app.state.settings, told=told)
    for kind in (WeldworthError, Refusal, RequestValidationError, HTTPException):
        app.add_exception_handler(kind, told)
    return app


@asynccontextmanager
async def weighing_ahead(app: FastAPI) -> AsyncIterator[None]:
    """While the desk is open, candidates whose figures are out of date are weighed in the background."""

    async def ahead() -> None:
        while True:
            try:
                done = await run_in_threadpool(app.state.desk.refresh, AT_ONCE)
            except Exception:  # the pages say what is wrong with a candidate; the next one must still be weighed
                log.exception("weighing ahead")
                done = 0
            await asyncio.sleep(0 if done else QUIET)

    uploads, days = app.state.uploads, phone_limits(app.state.desk.tables()).part_days
    await run_in_threadpool(uploads.parts.forget_before, app.state.desk.clock.now().timestamp() - days * 86400)
    work = asyncio.create_task(ahead())
    try:
        yield
    finally:
        work.cancel()
        with suppress(asyncio.CancelledError):
            await work


def told(request: Request, error: Exception) -> Response:
    """What is sent for an error: JSON to programs, a page to people, the login to strangers."""
    status, headers = status_of(error), {}
    if isinstance(error, TooOften):
        headers["Retry-After"] = str(error.seconds)
    if isinstance(error, HTTPException) and error.headers:
        headers.update(error.headers)
    if request.url.path.startswith("/api/") or "text/html" not in request.headers.get("accept", "*/*").replace(
        "*/*", "text/html"
    ):
        if isinstance(error, NotKnown):
            headers["WWW-Authenticate"] = "Bearer"
        return JSONResponse(as_json(error), status, headers)
    if isinstance(error, NotKnown):
        return door.to_login(request)
    title = next((words for kind, words in TITLES.items() if isinstance(error, kind)), "")
    title = title or {404: "Not here", 405: "Not here"}.get(status, "This did not work")
    response = cast(Response, refusal(request, status, title, problems_of(error)))
    response.headers.update(headers)
    return response
