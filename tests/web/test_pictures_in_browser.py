"""Pictures in a real browser: larger and smaller, boxes by mouse, thumb and keys, many put on a zone, what axe-core says."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from test_pictures_page import jpeg
from visiting import AXE, SMALL, Opened, Served, make_desk, serving, unpictured

pytestmark = pytest.mark.browser
ZONE = "ot.rocker.outer.l"


@pytest.fixture(scope="module")
def pictured(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The open tub with five pictures of 800 x 600, the first on its left rocker."""
    desk = make_desk(tmp_path_factory.mktemp("pictured"))
    owner = desk.people.owner("R. Quillan").id
    id = desk.import_dossier(unpictured(tmp_path_factory.mktemp("bare"), "ostrel-forager"), owner)
    for n in range(5):
        desk.add_picture(id, jpeg(n, size=(800, 600)), f"{n}.jpg", owner)
    first = desk.candidate(id).pictures[0]
    desk.correct(id, first.seq, {**first.facts, "zones": [ZONE]}, owner)
    desk.refresh()
    yield from serving(desk)


def at(served: Served, number: int | None = None) -> str:
    (line,) = served.desk.candidates()
    grid = f"{served.address}/c/{line.id}/pictures"
    return grid if number is None else f"{grid}/{pictures(served)[number].sha256}"


def pictures(served: Served) -> Any:
    return served.desk.candidate(served.desk.candidates()[0].id).pictures


def findings(served: Served, name: str) -> list[dict[str, Any]]:
    standing = served.desk.candidate(served.desk.candidates()[0].id).standing
    return [dict(entry.body) for entry in standing if entry.kind == "finding" and entry.body.get("picture") == name]


def on_screen(page: Any, x: float, y: float) -> tuple[float, float]:
    """Where the pixel x, y of the picture is on the glass, by the browser's own reckoning."""
    point = page.evaluate(
        """([x, y]) => { const svg = document.querySelector('#stage svg'), m = svg.getScreenCTM();
        return [x * m.a + m.e, y * m.d + m.f]; }""",
        [x, y],
    )
    return point[0], point[1]


def test_a_box_drawn_with_the_mouse_and_one_tap_is_a_finding_where_it_was_drawn(opened: Opened, pictured: Served) -> None:
    page = opened()
    page.goto(at(pictured, 0))
    page.click("[data-tool=box]")
    page.mouse.move(*on_screen(page, 200, 150))
    page.mouse.down()
    page.mouse.move(*on_screen(page, 300, 250))
    page.mouse.move(*on_screen(page, 400, 300))
    page.mouse.up()
    page.click("#mark .signs >> text=bubbling")
    page.wait_for_selector(".just-done >> text=Bubbling on")
    (made,) = findings(pictured, "0.jpg")
    assert (made["zone"], made["sign"]) == (ZONE, "bubbling")
    assert all(abs(a - b) <= 2 for a, b in zip(made["region"], (200, 150, 400, 300), strict=True))
    assert page.locator(".drawn .mark").count() == 1
    page.click(".just-done >> text=Undo")
    page.wait_for_selector("#found >> text=No finding names this picture yet.")
    assert findings(pictured, "0.jpg") == []


def test_a_box_drawn_where_the_picture_is_larger_is_in_the_same_pixels(opened: Opened, pictured: Served) -> None:
    page = opened()
    page.goto(at(pictured, 0))
    page.mouse.move(*on_screen(page, 600, 400))
    for _ in range(5):
        page.mouse.wheel(0, -300)
    page.wait_for_function("document.querySelector('#stage svg').viewBox.baseVal.width < 300")
    page.click("[data-tool=box]")
    page.mouse.move(*on_screen(page, 590, 390))
    page.mouse.down()
    page.mouse.move(*on_screen(page, 620, 420), steps=4)
    page.mouse.up()
    values = [int(page.locator(f"#{side}").input_value()) for side in ("left", "top", "right", "bottom")]
    assert all(abs(a - b) <= 1 for a, b in zip(values, (590, 390, 620, 420), strict=True))


def test_a_thumb_draws_a_box_on_a_phone(opened: Opened, pictured: Served) -> None:
    """Touches are sent through the browser's own input (Chrome DevTools Protocol, Input.dispatchTouchEvent)."""
    page = opened("phone")
    page.goto(at(pictured, 1) + "#easel")
    page.tap("[data-tool=box]")
    client = page.context.new_cdp_session(page)
    path = [on_screen(page, *point) for point in ((100, 100), (250, 200), (500, 400))]
    for kind, points in (("touchStart", path[:1]), ("touchMove", path[1:2]), ("touchMove", path[2:]), ("touchEnd", [])):
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y} for x, y in points]})
    page.wait_for_selector("#region-words:has-text('A box from')")
    page.locator("#mark [role=combobox]").fill("tailgate")
    page.tap(".found-zones >> text=Tailgate")
    page.tap("#mark .signs >> text=/^hole$/")
    page.wait_for_selector(".just-done >> text=Hole on")
    (made,) = findings(pictured, "1.jpg")
    assert made["zone"] == "ot.tailgate"
    assert all(abs(a - b) <= 4 for a, b in zip(made["region"], (100, 100, 500, 400), strict=True))


def test_a_box_is_made_moved_sized_and_signed_with_keys_alone(opened: Opened, pictured: Served) -> None:
    page = opened()
    page.goto(at(pictured, 2))
    page.locator("#stage").focus()
    page.keyboard.press("b")
    before = [int(page.locator(f"#{side}").input_value()) for side in ("left", "top", "right", "bottom")]
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    after = [int(page.locator(f"#{side}").input_value()) for side in ("left", "top", "right", "bottom")]
    assert after[0] - before[0] == after[2] - before[2] > 0 and after[1] == before[1] and after[3] > before[3]
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.value") == "original-paint"
    for _ in range(4):
        page.keyboard.press("Shift+Tab")
    assert page.evaluate("document.activeElement.getAttribute('role')") == "combobox"
    page.keyboard.type("hood")
    page.keyboard.press("Enter")
    for _ in range(4):
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector(".just-done")
    (made,) = findings(pictured, "2.jpg")
    assert made["region"] == after and (made["sign"], made["zone"]) == ("original-paint", "ot.hood")


def test_an_outline_is_tapped_point_by_point_and_closed_at_its_first(opened: Opened, pictured: Served) -> None:
    page = opened()
    page.goto(at(pictured, 0))
    page.click("[data-tool=outline]")
    for point in ((100, 100), (300, 120), (280, 300), (101, 101)):
        page.mouse.click(*on_screen(page, *point))
    page.wait_for_selector("#region-words:has-text('An outline of 3 points.')")
    page.click("#mark .signs >> text=scale")
    page.wait_for_selector(".just-done >> text=Scale on")
    outline = findings(pictured, "0.jpg")[-1]["outline"]
    assert len(outline) == 3
    for got, wanted in zip(outline, ((100, 100), (300, 120), (280, 300)), strict=True):
        assert got == pytest.approx(wanted, abs=2)


def test_three_pictures_are_ticked_and_put_on_a_zone_that_was_searched_for(opened: Opened, pictured: Served) -> None:
    page = opened()
    page.goto(at(pictured))
    boxes = page.locator(".grid input[name=picture]")
    boxes.nth(2).check(force=True)
    boxes.nth(4).click(modifiers=["Shift"], force=True)
    assert page.text_content("#ticked") == "3 of 5 ticked"
    page.locator(".bar-of [role=combobox]").fill("cowl top")
    page.keyboard.press("Enter")
    page.click("text=Put them on it")
    page.wait_for_selector(".just-done >> text=3 pictures: put on Cowl top")
    assert ["ot.cowl.top" in one.zones for one in pictures(pictured)] == [False, False, True, True, True]
    page.click(".just-done >> text=Undo")
    page.wait_for_selector("text=3 taken back.")
    assert not any("ot.cowl.top" in one.zones for one in pictures(pictured))


def test_on_a_phone_the_bar_is_one_row_until_what_is_ticked_is_put_on_a_zone(opened: Opened, pictured: Served) -> None:
    page = opened("phone")
    page.goto(at(pictured))
    page.locator(".grid .tick").nth(0).click()
    height = "() => document.querySelector('.bar-of').getBoundingClientRect().height"
    assert page.evaluate(height) < 64
    assert not page.locator(".bar-of [role=combobox]").is_visible()
    page.click("#put")
    assert page.locator(".bar-of [role=combobox]").is_visible() and page.locator("text=Put them on it").is_visible()
    page.click("#put")
    assert page.evaluate(height) < 64


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_a_picture_is_put_on_a_zone_by_tapping_the_drawing(opened: Opened, pictured: Served, size: str) -> None:
    page, number = opened(size), {"desk": 2, "phone": 4}[size]
    page.set_default_timeout(60_000)
    page.goto(at(pictured, number))
    page.click("#assign >> text=Choose on the drawing")
    zone = page.locator(".on-drawing .plate:not(.crop) path.zone:visible").first
    zone.wait_for()
    wanted = page.evaluate(
        """() => { for (const one of document.querySelectorAll('.on-drawing .plate path.zone')) {
            const box = one.getBoundingClientRect(), x = box.x + box.width / 2, y = box.y + box.height / 2;
            const hit = document.elementFromPoint(x, y)?.closest('[data-zone]');
            if (box.width && hit && hit.dataset.zone === one.dataset.zone) return [one.dataset.zone, x, y]; } }"""
    )
    (page.touchscreen.tap if size == "phone" else page.mouse.click)(*wanted[1:])
    page.wait_for_selector(f".shows a[href*='{wanted[0]}']")
    assert page.locator(".on-drawing").count() == 0
    assert wanted[0] in pictures(pictured)[number].zones


def test_keys_make_it_larger_move_it_and_go_to_the_next(opened: Opened, pictured: Served) -> None:
    page = opened()
    page.goto(at(pictured, 0))
    page.locator("#stage").focus()
    seen = "(() => { const v = document.querySelector('#stage svg').viewBox.baseVal; return [v.x, v.y, v.width]; })()"
    whole = page.evaluate(seen)
    page.keyboard.press("+")
    page.keyboard.press("+")
    larger = page.evaluate(seen)
    assert larger[2] < whole[2] / 1.5
    page.keyboard.press("ArrowRight")
    assert page.evaluate(seen)[0] > larger[0]
    page.keyboard.press("0")
    assert page.evaluate(seen)[2] == pytest.approx(whole[2])
    page.keyboard.press("ArrowRight")
    page.wait_for_selector(".steps >> text=2 of 5")
    assert page.url.split("#")[0] == at(pictured, 1)
    page.go_back()
    page.wait_for_selector(".steps >> text=1 of 5")


def test_a_swipe_goes_to_the_next_and_two_fingers_make_it_larger(opened: Opened, pictured: Served) -> None:
    page = opened("phone")
    page.goto(at(pictured, 0) + "#easel")
    client = page.context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        given = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": given})

    x, y = on_screen(page, 400, 300)
    touch("touchStart", (x - 20, y), (x + 20, y))
    touch("touchMove", (x - 50, y), (x + 50, y))
    touch("touchEnd")
    assert page.evaluate("document.querySelector('#stage svg').viewBox.baseVal.width") < 800 / 1.8
    page.click("[data-zoom=whole]")
    touch("touchStart", (x + 100, y))
    touch("touchMove", (x, y + 3))
    touch("touchMove", (x - 100, y + 4))
    touch("touchEnd")
    page.wait_for_selector(".steps >> text=2 of 5")


def test_two_side_by_side_move_together(opened: Opened, pictured: Served) -> None:
    page = opened()
    other = pictures(pictured)[3].sha256
    page.goto(at(pictured, 0) + f"?beside={other}")
    page.click("[data-zoom=in]")
    page.click("[data-zoom=in]")
    boxes = page.evaluate("[...document.querySelectorAll('.stage svg')].map(one => one.viewBox.baseVal.width)")
    assert boxes[0] < 700 and boxes[0] == pytest.approx(boxes[1], rel=0.01)


def test_a_finding_is_kept_on_the_page_while_there_is_no_connection(opened: Opened, pictured: Served) -> None:
    page = opened()
    page.goto(at(pictured, 3))
    page.locator("#stage").focus()
    page.keyboard.press("b")
    box = page.locator("#left").input_value()
    page.locator("#mark [role=combobox]").fill("hood")
    page.keyboard.press("Enter")
    page.context.set_offline(True)
    page.click("#mark .signs >> text=patch")
    page.wait_for_selector("text=No connection; nothing was sent.")
    assert page.locator("#left").input_value() == box
    page.context.set_offline(False)
    page.click("text=Send it again")
    page.wait_for_selector(".just-done >> text=Patch on Hood")
    assert findings(pictured, "3.jpg")[-1]["sign"] == "patch"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", ["desk", "phone"])
def test_grid_and_large_picture_have_nothing_that_axe_objects_to(
    opened: Opened, pictured: Served, size: str, scheme: str
) -> None:
    """axe-core 4.14 with its rules for WCAG 2.0, 2.1 and 2.2 at levels A and AA, and its good practices."""
    page, found = opened(size, scheme, bypass_csp=True), {}
    other = pictures(pictured)[3].sha256
    for address in (at(pictured), at(pictured, 0), at(pictured, 0) + f"?beside={other}", at(pictured) + "?zone=ot.hood"):
        page.goto(address)
        page.add_script_tag(path=str(AXE))
        for details in page.locator("main details").all():
            details.evaluate("one => { one.open = true; }")
        result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        wrong = [f"{v['id']}: {v['nodes'][0]['html'][:200]}" for v in result["violations"]]
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        wrong += [f"{wide} px too wide"] if wide > 0 else []
        wrong += page.evaluate(SMALL) if size == "phone" else []
        if wrong:
            found[address] = wrong
    assert not found
