"""Shop and People: terms with their versions, tables, invitations and tokens."""

from __future__ import annotations

import html
import io
import re
import zipfile

from visiting import Visitor

from weldworth.workbench.desk import Desk


def test_every_shipped_term_stands_with_its_basis_and_source(visitor: Visitor) -> None:
    page = visitor.page("/shop")
    for basis in ("guess: common practice, no source, 2026-11", "quoted: shop rates of 60 to 175"):
        assert basis in html.unescape(page)
    assert 'placeholder="20 %"' in page


def test_a_changed_term_makes_a_version_and_moves_the_ceiling(visitor: Visitor, desk: Desk) -> None:
    visitor.submit("/demo")
    id = desk.candidates()[0].id
    before = {line.id: desk.weighing(line.id).ceiling.amount for line in desk.candidates()}
    answer = visitor.submit(
        "/shop", {"version": "0", "chance_of_loss": "10 %", "labour_rate": "120", "note": "dearer shop"}, of="/shop"
    )
    assert answer.status_code == 303, answer.text
    assert desk.shop.terms().terms == {"chance_of_loss": 0.1, "labour_rate": 120}
    after = {line.id: desk.weighing(line.id).ceiling.amount for line in desk.candidates()}
    assert all(after[one] <= before[one] for one in before)
    assert any(after[one] < before[one] for one in before)
    page = visitor.page("/shop")
    assert "dearer shop" in page
    assert "Highest chance of a loss: 10 %, before as the tables" in page
    assert 'value="10 %"' in page
    assert id in before


def test_an_emptied_field_goes_back_to_the_tables(visitor: Visitor, desk: Desk) -> None:
    visitor.submit("/shop", {"version": "0", "margin": "30"}, of="/shop")
    assert desk.shop.terms().terms == {"margin": 0.3}
    visitor.submit("/shop", {"version": "1", "margin": ""}, of="/shop")
    assert desk.shop.terms().terms == {}
    assert [version.number for version in desk.shop.terms_versions()] == [1, 2]


def test_a_term_that_cannot_be_is_refused_beside_its_field(visitor: Visitor, desk: Desk) -> None:
    fields = {"version": "0", "margin": "a lot", "labour_rate": "140 100 75", "place": "Atlantis, XX", "title_cost": "175"}
    answer = visitor.submit("/shop", fields, of="/shop")
    assert answer.status_code == 422
    for name in ("margin", "labour_rate", "place"):
        assert re.search(rf'id="{name}-wrong"', answer.text), name
    assert 'value="a lot"' in answer.text
    assert 'value="175"' in answer.text
    assert desk.shop.terms_versions() == []


def test_two_who_change_the_terms_at_once_are_told(visitor: Visitor, desk: Desk) -> None:
    visitor.submit("/shop", {"version": "0", "margin": "30 %"}, of="/shop")
    answer = visitor.submit("/shop", {"version": "0", "margin": "10 %"}, of="/shop")
    assert answer.status_code == 409
    assert "changed since" in answer.text
    assert 'value="10 %"' in answer.text
    assert desk.shop.terms().terms == {"margin": 0.3}


def test_a_table_is_shown_with_basis_and_source_of_every_row(visitor: Visitor, desk: Desk) -> None:
    page = visitor.page("/shop/tables/deal.csv")
    assert page.count("<tr") == len(desk.shop.table_text("deal.csv").strip().splitlines())
    assert "basis" in page
    assert visitor.page("/shop/tables/deals.csv", 404)


def test_everything_can_be_taken_out_and_no_password_is_in_it(visitor: Visitor, desk: Desk) -> None:
    visitor.submit("/demo")
    desk.people.add("J. Osk", "partner", "$argon2id$kept")
    packed = zipfile.ZipFile(io.BytesIO(visitor.get("/shop/everything.zip").content))
    found = [name for name in packed.namelist() if name.endswith("candidate.toml")]
    assert len(found) == len(desk.candidates())
    assert all(b"argon2" not in packed.read(name) for name in packed.namelist())


def test_an_invitation_is_shown_once_and_can_be_taken_back(visitor: Visitor, desk: Desk) -> None:
    page = visitor.submit("/people/invite", {"name": "J. Osk", "role": "partner"}, of="/people").text
    code = re.search(r"welcome\?code=([\w-]+)", page)
    assert code is not None
    assert desk.people.invitation(code[1]) is not None
    assert code[1] not in visitor.page("/people")
    visitor.submit(f"/people/end/{desk.people.passes('invitation')[0].hash}", of="/people")
    assert desk.people.invitation(code[1]) is None


def test_a_token_is_shown_once_and_can_be_ended(visitor: Visitor, desk: Desk) -> None:
    page = visitor.submit("/people/token", {"label": "spreadsheet", "token_role": "read-only"}, of="/people").text
    secret = re.search(r'class="secret"[^>]*>([^<]+)<', page)
    assert secret is not None
    assert desk.people.token(secret[1]) is not None
    assert secret[1] not in visitor.page("/people")
    visitor.submit(f"/people/end/{desk.people.passes('token')[0].hash}", of="/people")
    assert desk.people.token(secret[1]) is None
    assert visitor.submit("/people/token", {"label": " "}, of="/people").status_code == 422


def test_nobody_can_be_given_a_role_that_does_not_exist(visitor: Visitor, desk: Desk) -> None:
    answer = visitor.submit("/people/invite", {"name": "J. Osk", "role": "king"}, of="/people")
    assert answer.status_code == 422
    assert "king" in answer.text
    assert desk.people.passes("invitation") == []
