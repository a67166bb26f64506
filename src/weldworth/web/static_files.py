"""Scripts, styles and fonts, read once, named by their content so that a browser may keep them for ever."""

from __future__ import annotations

import gzip
import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType

from starlette.requests import Request
from starlette.responses import Response

from weldworth.core.errors import NotFound

FOLDER = Path(__file__).parent / "static"
TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".woff2": "font/woff2",
    ".svg": "image/svg+xml",
}
PACKED = (".css", ".js", ".svg")
PREFIX = "/static/"
_FOR_EVER = "public, max-age=31536000, immutable"


@dataclass(frozen=True, slots=True)
class Asset:
    """One file as it is sent. url : with the first hex digits of its hash in the name. packed : gzip of it, or None."""

    url: str
    kind: str
    plain: bytes
    packed: bytes | None


@cache
def assets() -> Mapping[str, Asset]:
    """Every shipped file by its name below static/, such as "bench.css" or "fonts/barlow-latin-400-normal.woff2".

    Names of other shipped files inside styles (`url(...)`) and scripts (`from "./x.js"`, `import("./x.js")`) are replaced by
    their hashed ones, so files are taken in an order in which what is named comes first.
    """
    names = sorted(str(p.relative_to(FOLDER)) for p in FOLDER.rglob("*") if p.suffix in TYPES)
    found: dict[str, Asset] = {}
    waiting = {name: (FOLDER / name).read_bytes() for name in names}
    while waiting:
        ready = [name for name, content in waiting.items() if not _named(name, content) & waiting.keys() - {name}]
        if not ready:
            raise RuntimeError(f"static files name each other in a circle: {sorted(waiting)}")
        for name in ready:
            found[name] = _asset(name, waiting.pop(name), found)
    return MappingProxyType(found)


def url(name: str) -> str:
    """The address of a shipped file; KeyError for a name that is not shipped."""
    return assets()[name].url


def serve(request: Request, path: str) -> Response:
    """The file at a hashed address, packed where the browser takes it. Raises NotFound."""
    asset = _by_url().get(PREFIX + path)
    if asset is None:
        raise NotFound(f"there is no file {path!r}")
    headers = {"Cache-Control": _FOR_EVER, "Vary": "Accept-Encoding"}
    if asset.packed is not None and "gzip" in request.headers.get("accept-encoding", ""):
        return Response(asset.packed, media_type=asset.kind, headers=headers | {"Content-Encoding": "gzip"})
    return Response(asset.plain, media_type=asset.kind, headers=headers)


@cache
def _by_url() -> Mapping[str, Asset]:
    return {asset.url: asset for asset in assets().values()}


_URL = re.compile(rb"url\((?!data:)([^)]+)\)")
_IMPORT = re.compile(rb'(from |import\()"\./([^"]+)"')


def _pattern(name: str) -> re.Pattern[bytes] | None:
    return {".css": _URL, ".js": _IMPORT}.get(Path(name).suffix)


def _named(name: str, content: bytes) -> set[str]:
    """The shipped files that a style or script names."""
    pattern = _pattern(name)
    return {match[match.lastindex or 0].decode() for match in pattern.finditer(content)} if pattern else set()


def _asset(name: str, content: bytes, known: Mapping[str, Asset]) -> Asset:
    pattern = _pattern(name)
    if pattern is _URL:
        content = _URL.sub(lambda m: b"url(" + known[m[1].decode()].url.encode() + b")", content)
    elif pattern is _IMPORT:
        content = _IMPORT.sub(lambda m: m[1] + b'"' + known[m[2].decode()].url.encode() + b'"', content)
    path = Path(name)
    digest = hashlib.sha256(content).hexdigest()[:10]
    packed = gzip.compress(content, 9, mtime=0) if path.suffix in PACKED else None
    return Asset(f"{PREFIX}{path.with_suffix('')}.{digest}{path.suffix}", TYPES[path.suffix], content, packed)
