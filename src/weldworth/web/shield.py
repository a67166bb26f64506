"""What stands before every page: the desk's own name, limits on what is sent, and the headers that keep strangers out."""

from __future__ import annotations

from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from weldworth.web.errors import TooLarge, WrongHost
from weldworth.web.settings import Settings

POLICY = (
    "default-src 'self'; img-src 'self' data: blob:; style-src 'self'; script-src 'self'; connect-src 'self'; worker-src 'self'; "
    "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
LASTING = "max-age=31536000"
UPLOADS = ("/upload", "/pictures", "/dossiers")
"""How addresses end that take uploads."""


class Shield:
    """ASGI middleware; `settings` say which names are answered and how much is taken.

    told : makes the response for what nobody else caught.
    """

    def __init__(self, app: ASGIApp, settings: Settings, told: Callable[[Request, Exception], Response]) -> None:
        self.app, self.settings, self.told = app, settings, told

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on with its body counted, and the response with its headers set."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        scope.setdefault("state", {})["refused"] = self._refused(headers, scope["path"])
        most, taken, begun = self._most(scope["path"]), 0, False

        async def counted() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > most:
                raise _too_large(most)
            return message

        async def armed(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                self._arm(MutableHeaders(scope=message), scope["path"])
            await send(message)

        try:
            await self.app(scope, counted, armed)
        except Exception as error:
            if begun:
                raise
            response = await run_in_threadpool(self.told, Request(scope), error)
            await response(scope, receive, armed)

    def _refused(self, headers: Headers, path: str) -> WrongHost | TooLarge | None:
        host = headers.get("host", "")
        name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
        if self.settings.hosts and name not in self.settings.hosts:
            return WrongHost(f"This desk is not called {name!r}; open it under {' or '.join(sorted(self.settings.hosts))}.")
        length, most = headers.get("content-length", "0"), self._most(path)
        return _too_large(most) if not length.isdigit() or int(length) > most else None

    def _most(self, path: str) -> int:
        return self.settings.largest_upload if path.endswith(UPLOADS) else self.settings.largest_form

    def _arm(self, headers: MutableHeaders, path: str) -> None:
        for name, value in HEADERS.items():
            headers.setdefault(name, value)
        if self.settings.secure:
            headers.setdefault("Strict-Transport-Security", LASTING)
        headers.setdefault("Cache-Control", "no-store")


def _too_large(most: int) -> TooLarge:
    return TooLarge(f"More than {most // 1_000_000} MB were sent at once; send less, or in parts.")
