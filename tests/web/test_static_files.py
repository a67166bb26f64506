"""Shipped files: named by their content, complete, from nowhere else."""

from __future__ import annotations

import gzip
import re
from pathlib import Path

from weldworth.web import static_files
from weldworth.web.static_files import FOLDER, assets

SOURCES = Path(static_files.__file__).parent


def test_every_file_that_a_style_or_script_names_is_shipped_under_its_hashed_name() -> None:
    urls = {asset.url for asset in assets().values()}
    for name, asset in assets().items():
        if name.endswith((".css", ".js")):
            text = asset.plain.decode()
            named = re.findall(r"url\((?!data:|#)([^)]+)\)", text) + re.findall(r'from "([^"]+)"', text)
            assert set(named) <= urls, name


def test_packed_and_plain_are_the_same() -> None:
    for asset in assets().values():
        if asset.packed is not None:
            assert gzip.decompress(asset.packed) == asset.plain


def test_nothing_comes_from_another_address() -> None:
    for path in [*SOURCES.rglob("*.html"), *FOLDER.rglob("*.css"), *FOLDER.rglob("*.js")]:
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?://", text), path.name


def test_no_template_has_inline_style_or_script() -> None:
    """Content Security Policy Level 3, section 6.7: 'self' lets no inline style, script or handler through."""
    for path in SOURCES.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        script = r'<script(?![^>]*\ssrc=|\stype="application/json")'
        assert not re.search(rf"\sstyle=|<style|\son[a-z]+=|{script}|javascript:", text), path.name


def test_the_licences_of_the_fonts_are_shipped_with_them() -> None:
    assert {path.name for path in (FOLDER / "fonts").glob("LICENSE*")} == {"LICENSE-alegreya.txt", "LICENSE-barlow.txt"}
