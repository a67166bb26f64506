"""The printed report: the same bytes every time, readable aloud, and the trader's words taken as they stand."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from weldworth.report.pdf import FONTS, fonts, weighing_pdf
from weldworth.report.sheet import Sheet
from weldworth.workbench.weigh import Weighing


@pytest.fixture(scope="module")
def pdf(sheet: Sheet) -> bytes:
    return weighing_pdf(sheet)


@pytest.fixture(scope="module")
def text(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


def test_the_same_sheet_gives_the_same_bytes(sheet: Sheet, pdf: bytes) -> None:
    assert weighing_pdf(sheet) == pdf


def test_the_report_holds_the_ceiling_the_cautions_the_seed_and_the_table_version(
    text: str, sheet: Sheet, weighing: Weighing
) -> None:
    assert sheet.decision.ceiling in text and f"seed {weighing.seed}" in text and weighing.tables in text
    for caution in sheet.cautions:
        assert " ".join(caution.split()[:5]) in text
    assert "What is used up" in text and "Nobody has seen" in text and "The life it has led" in text


def test_every_zone_is_named_in_the_report(text: str, weighing: Weighing) -> None:
    assert [zone.label for zone in weighing.plan.zones if zone.label.split(",")[0].split(" (")[0][:18] not in text] == []


def test_a_name_with_markup_in_it_comes_out_as_it_stands(text: str, weighing: Weighing) -> None:
    assert weighing.dossier.vehicle.name in text


def test_the_report_can_be_read_aloud(pdf: bytes) -> None:
    # PDF/UA-1, ISO 14289-1: marked as tagged, with a language, a title, and words for every figure.
    reader = PdfReader(BytesIO(pdf))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] and "/StructTreeRoot" in root and root["/Lang"] == "en-US"
    assert b"pdfuaid:part" in root["/Metadata"].get_object().get_data()
    figures = [item for item in tagged(root["/StructTreeRoot"]) if item.get("/S") == "/Figure"]
    assert len(figures) == 3 and all("/Alt" in item for item in figures)


def tagged(element: object) -> list[DictionaryObject]:
    """Every structure element below `element`."""
    found: list[DictionaryObject] = []
    waiting = [element]
    while waiting:
        item = waiting.pop()
        item = item.get_object() if hasattr(item, "get_object") else item
        if isinstance(item, list):
            waiting += item
        elif isinstance(item, DictionaryObject):
            found.append(item)
            waiting += [item["/K"]] if "/K" in item else []
    return found


def test_the_report_is_letter_size_with_a_numbered_first_page(pdf: bytes) -> None:
    pages = PdfReader(BytesIO(pdf)).pages
    # US Letter, ANSI/ASME Y14.1: 8.5 by 11 in, 72 points to the inch.
    assert {(float(page.mediabox.width), float(page.mediabox.height)) for page in pages} == {(612.0, 792.0)}
    assert f"1 of {len(pages)}" in pages[0].extract_text()


def test_only_fonts_that_come_with_a_licence_are_used(pdf: bytes) -> None:
    used = set()
    for page in PdfReader(BytesIO(pdf)).pages:
        used |= {str(font.get_object()["/BaseFont"]).split("+")[-1] for font in page["/Resources"]["/Font"].values()}
    assert used and all(name.startswith(("Barlow", "Alegreya")) for name in used), used
    licences = [path.read_text(encoding="utf-8") for path in sorted(FONTS.glob("OFL-*.txt"))]
    assert len(licences) == 2 and all("SIL OPEN FONT LICENSE Version 1.1" in text for text in licences)
    assert len(fonts()) == 7


def test_a_vehicle_on_which_nothing_pays_and_nothing_was_seen_gets_a_report_too(sheet: Sheet) -> None:
    from dataclasses import replace

    empty = replace(
        sheet,
        axis=replace(sheet.axis, ceiling=None, price=None, price_high=None),
        evidence=replace(sheet.evidence, stations=(), answers=(), unseen=()),
        asks=replace(sheet.asks, ranked=(), best=(), joint=(), message=""),
        remarks=(),
        number_words=(),
    )
    told = PdfReader(BytesIO(weighing_pdf(empty))).pages[0].extract_text()
    assert "Nothing pays" in told
