"""The script that keeps pages on a phone, at an address whose scope is every page."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from weldworth.web import static_files

router = APIRouter()


@router.get("/sw.js")
def worker() -> Response:
    """static/worker.js under a name that never changes; browsers look for a newer one by themselves."""
    asset = static_files.assets()["worker.js"]
    return Response(asset.plain, media_type=asset.kind, headers={"Cache-Control": "no-cache"})
