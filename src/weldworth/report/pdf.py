"""A sheet as a PDF: set by typst from the template and the fonts that lie beside this file, the same bytes every time."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Final

import typst

from weldworth.report.sheet import Sheet

HERE = Path(__file__).parent
TEMPLATE = HERE / "weighing.typ"
FONTS = HERE / "fonts"
STANDARD: Final = "ua-1"
"""PDF/UA-1, ISO 14289-1: tagged, with words for what is drawn, so that it can be read aloud."""


def weighing_pdf(sheet: Sheet) -> bytes:
    """The report. No date of making goes in, and no font of the machine, so the same sheet gives the same bytes."""
    return _set(TEMPLATE, json.dumps(asdict(sheet), allow_nan=False))


def fonts() -> list[str]:
    """The names of the font files that reports are set in."""
    return sorted(path.name for path in FONTS.glob("*.ttf"))


def trial_page() -> bytes:
    """A page with one word in each typeface of the reports, to see whether typst works here."""
    return _set(HERE / "trial.typ", "{}")


def _set(template: Path, data: str) -> bytes:
    pdf = typst.compile(
        str(template),
        root=str(HERE),
        font_paths=[str(FONTS)],
        ignore_system_fonts=True,
        sys_inputs={"sheet": data},
        pdf_standards=STANDARD,
        format="pdf",
    )
    return bytes(pdf)
