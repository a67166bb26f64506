"""serve: the desk in the browser."""

from __future__ import annotations

import io
import json
import socket
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from weldworth.bootstrap import home, open_desk
from weldworth.cli.output import say
from weldworth.core.errors import BadInput, Problem

if TYPE_CHECKING:
    import uvicorn

    from weldworth.web.certificates import Certificates
    from weldworth.workbench.desk import Desk

HOST, PORT = "127.0.0.1", 8017
SETUP = "Set-up code"
CERTIFICATES = "certificates"
"""Folder in the home folder."""


def serve_desk(
    host: str = HOST,
    port: int = PORT,
    where: Path | None = None,
    *,
    behind_https: bool = False,
    https: bool = False,
    names: tuple[str, ...] = (),
    as_json: bool = False,
    first: Callable[[Desk], None] = lambda desk: None,
) -> None:
    """Serve the shop in `where` until it is interrupted. first : done with the desk before it is served.

    https : with certificates of an own authority, made in the home folder, and a page beside it that lets phones trust them.
    Raises BadInput where the port cannot be had or the host is not an address of this machine.
    """
    import uvicorn

    from weldworth.second_desk import SecondDesk
    from weldworth.web.app import create_app
    from weldworth.web.settings import settings_for

    listening = _listening(host, port)
    desk = open_desk(home(where))
    first(desk)
    desk.beside = second = SecondDesk(home(where), desk)
    settings = settings_for(host, names=names, secure=behind_https or https)
    trust = _trusted(host, listening.getsockname()[1], home(where), desk) if https else None
    address = trust.address if trust else f"http://{_bare(host)}:{listening.getsockname()[1]}/"
    code = None if settings.open_door else set_up_code(desk)
    if as_json:
        say(json.dumps({"address": address, "set_up_code": code, **(trust.told() if trust else {})}))
    else:
        say("\n".join([*told(address, code, settings.open_door), *(trust.lines() if trust else [])]))
    config = uvicorn.Config(
        create_app(desk, settings),
        log_level="warning",
        server_header=False,
        timeout_graceful_shutdown=1,
        proxy_headers=behind_https,
        ssl_certfile=trust.found.server if trust else None,
        ssl_keyfile=trust.found.key if trust else None,
    )
    beside = trust.serve() if trust else None
    try:
        uvicorn.Server(config).run(sockets=[listening])
    finally:
        if beside is not None:
            beside.should_exit = True
        second.close()
        desk.store.close()


@dataclass(frozen=True)
class Trust:
    """How phones come to trust the desk at `address`: certificates, and the plain address where they are taken."""

    found: Certificates
    address: str
    beside: str
    listening: socket.socket

    def told(self) -> dict[str, str]:
        """The same for programs."""
        return {"authority": str(self.found.authority), "fingerprint": self.found.fingerprint, "trust_page": self.beside}

    def lines(self) -> list[str]:
        """What the terminal says, with a code for the phone's camera."""
        import segno

        drawn = io.StringIO()
        segno.make(self.beside, error="l").terminal(drawn, compact=True, border=1)
        return [
            f"Once per phone, open {self.beside} and trust the certificate of this desk:",
            drawn.getvalue().rstrip(),
            "Compare its fingerprint (SHA-256) with the phone's page:",
            f"  {self.found.fingerprint}",
        ]

    def serve(self) -> uvicorn.Server:
        """Serve the page that lets phones trust the desk."""
        from weldworth.web.trusting import serve_beside, trust_app

        return serve_beside(trust_app(self.found, self.address), self.listening)


def _trusted(host: str, port: int, where: Path, desk: Desk) -> Trust:
    """Certificates for the names of this machine, and the next free port for the page beside the desk."""
    from weldworth.web.certificates import certificates, own_names

    names = own_names(host)
    found = certificates(where / CERTIFICATES, names, desk.clock.now())
    try:
        listening = _listening(host, port + 1 if port < 65535 else 0)
    except BadInput:
        listening = _listening(host, 0)
    shown = _bare(names[0])
    return Trust(found, f"https://{shown}:{port}/", f"http://{shown}:{listening.getsockname()[1]}/", listening)


def _bare(host: str) -> str:
    """The host as it stands in an address."""
    return f"[{host}]" if ":" in host else host


def serve_demo(where: Path | None, folders: Sequence[Path], port: int = PORT) -> None:
    """The desk of this machine with the demo dossiers on its bench."""
    from weldworth.web.arrivals import put_on_bench

    serve_desk(HOST, port, where, first=lambda desk: put_on_bench(desk, folders, desk.people.owner().id))


def set_up_code(desk: Desk) -> str | None:
    """A code for the first owner while nobody has a password, which makes earlier ones useless; else None."""
    if any(person.password and person.active for person in desk.people.all()):
        return None
    for given in desk.people.passes("invitation", ""):
        desk.people.end(given.hash)
    return desk.people.invite(SETUP, "owner", "")


def told(address: str, code: str | None, open_door: bool) -> list[str]:
    """What the terminal says once the desk is open."""
    lines = [f"The desk is open: {address} (Ctrl-C ends it)"]
    if code is not None:
        lines += ["Nobody has an account yet. Open the page and give this set-up code; it works once:", f"  {code}"]
    elif not open_door:
        lines.append("People log in with their own name and password.")
    return lines


def _listening(host: str, port: int) -> socket.socket:
    """The socket to serve on."""
    try:
        family, kind, proto, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        found = socket.socket(family, kind, proto)
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind(address)
        found.listen(128)
        return found
    except socket.gaierror:
        raise BadInput([Problem("--host", f"{host!r} is no address of this machine; give one such as {HOST}")]) from None
    except OSError as error:
        text = f"{host} port {port} cannot be had: {error.strerror}; give another, such as --port {port % 60000 + 1}"
        raise BadInput([Problem("--port", text)]) from None
