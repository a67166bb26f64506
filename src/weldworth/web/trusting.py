"""The page that lets a phone trust this desk, served over plain http too, since before that https cannot be trusted yet."""

from __future__ import annotations

import asyncio
import socket
import threading
from pathlib import Path

import segno
import uvicorn
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from markupsafe import Markup
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from weldworth.web import static_files
from weldworth.web.certificates import Certificates
from weldworth.web.render import environment
from weldworth.web.shield import HEADERS

FILE = "/weldworth-authority.crt"


def trust_page(found: Certificates, address: str) -> str:
    """How to trust the desk at `address`: the certificate to take, its fingerprint, and what to tap."""
    code = Markup(segno.make(address, error="m").svg_inline(border=2, svgclass="qr", lineclass=None, omitsize=True))
    values = {"file": FILE, "fingerprint": found.fingerprint, "address": address, "code": code}
    return environment.get_template("trust.html").render(values)


def trust_app(found: Certificates, address: str) -> Starlette:
    """The page, the certificate and the page's style, and nothing else."""

    def page(request: Request) -> Response:
        return HTMLResponse(trust_page(found, address), headers=HEADERS)

    def certificate(request: Request) -> Response:
        return Response(der(found.authority), media_type="application/x-x509-ca-cert")

    def static(request: Request) -> Response:
        return static_files.serve(request, request.path_params["path"])

    routes = [Route("/", page), Route(FILE, certificate), Route(static_files.PREFIX + "{path:path}", static)]
    return Starlette(routes=routes)


def der(file: Path) -> bytes:
    """The certificate in the form that phones take."""
    return x509.load_pem_x509_certificate(file.read_bytes()).public_bytes(serialization.Encoding.DER)


def serve_beside(app: Starlette, listening: socket.socket) -> uvicorn.Server:
    """Serve in a thread of its own until `should_exit` is set."""
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", server_header=False, timeout_graceful_shutdown=1))
    threading.Thread(target=lambda: asyncio.run(server.serve(sockets=[listening])), daemon=True).start()
    return server
