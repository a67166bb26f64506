"""docs/first-vehicle.md, followed as it is written."""

from __future__ import annotations

import html
import re
from pathlib import Path

from visiting import Visitor

from weldworth.workbench.desk import Desk

PAGE = (Path(__file__).parents[2] / "docs" / "first-vehicle.md").read_text(encoding="utf-8")
FIELDS = {
    "Name": "name",
    "Resale: low": "resale.low",
    "Resale: most likely": "resale.likely",
    "Resale: high": "resale.high",
    "Place": "history.0.place",
    "From": "history.0.from",
    "Kept": "history.0.storage",
    "Salted winters": "history.0.salted_winters",
}


def prefilled(page: str) -> dict[str, str | list[str]]:
    """What the form holds as it comes."""
    form = page.partition('id="take"')[2]
    found: dict[str, str | list[str]] = {}
    for tag in re.findall(r"<input [^>]*>", form):
        name, value = (re.search(rf' {key}="([^"]*)"', tag) for key in ("name", "value"))
        kind = re.search(r' type="([^"]*)"', tag)
        ticked = kind is None or kind[1] not in ("radio", "checkbox") or " checked" in tag
        if name and ticked and " disabled" not in tag:
            text = html.unescape(value[1]) if value else ""
            if name[1] == "claim":
                found["claim"] = [*found.get("claim", []), text]
            else:
                found[name[1]] = text
    advert = re.search(r'<textarea[^>]*name="advert"[^>]*>([^<]*)<', form)
    return {**found, "advert": html.unescape(advert[1]) if advert else ""}


def test_the_walk_ends_in_a_ceiling(visitor: Visitor, desk: Desk) -> None:
    advert = re.search(r"```text\n(.*?)```", PAGE, re.DOTALL)
    assert advert is not None
    page = visitor.submit("/new/read", {"advert": advert[1]}, of="/new").text
    fields = prefilled(page)
    assert fields["body"] == "open-tub", "chosen by its drawing already"
    given = dict(re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", PAGE, re.MULTILINE))
    for label, name in FIELDS.items():
        fields[name] = given[label].replace(" ", "-") if label == "Kept" else given[label]
    answer = visitor.submit("/new", fields, of="/new")
    assert answer.status_code == 303, answer.text
    view = desk.candidate(desk.candidates()[0].id)
    assert {item["source"] for item in view.data["finding"]} == {"seller-word"}
    assert desk.weighing(view.id).ceiling.amount > 0, "a ceiling of one's own"
    page = visitor.page(answer.headers["location"])
    assert "Ceiling" in page.partition("<main")[0]
    for label in ("Metal", "Pictures", "Asks", "Money", "Diary"):
        assert visitor.page(f"/c/{view.id}/{label.lower()}")
