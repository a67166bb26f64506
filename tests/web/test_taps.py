"""Every zone of every body is tapped in the middle of its tap area, on a phone and at a desk, and that zone opens."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import pytest
from PIL import Image, ImageChops
from playwright.sync_api import TimeoutError
from visiting import Served, make_desk, serving

from weldworth.drawings import bodies, svg, views
from weldworth.drawings.shelf import SHIPPED
from weldworth.tables import load_tables
from weldworth.vehicle.plans import load_plan, plan_options

pytestmark = pytest.mark.browser
FINGER = 24  # WCAG 2.2, success criterion 2.5.8, target size (minimum): 24 by 24 CSS px
SIZES = {"phone": (360, 740), "desk": (1440, 900)}
# Paints every zone and the tap areas over them in a colour each, as the page stacks them, and finds for each the middle of the
# widest circle of whole pixels in it: its diameter as room, and where it lies: x on the page, y below the top of its sheet, which
# moves when the words above it change.
SPOTS = """() => {
  const found = [], sheets = [...document.querySelectorAll('.plate svg')];
  for (const svg of sheets) {
    if (!svg.checkVisibility()) continue;
    const sheet = svg.getBoundingClientRect(), w = Math.round(sheet.width), h = Math.round(sheet.height), areas = new Map();
    const brush = Object.assign(document.createElement('canvas'), {width: w, height: h}).getContext('2d');
    for (const path of svg.querySelectorAll('.zone, .hit')) {
      const zone = path.dataset.zone, to = path.getScreenCTM();
      if (!areas.has(zone)) areas.set(zone, {zone, rim: [], inside: []});
      brush.setTransform(to.a, to.b, to.c, to.d, to.e - sheet.left, to.f - sheet.top);
      brush.fillStyle = `rgb(${[...areas.keys()].indexOf(zone)} 80 160)`;
      brush.fill(new Path2D(path.getAttribute('d')), getComputedStyle(path).fillRule);
    }
    const pixels = new Uint32Array(brush.getImageData(0, 0, w, h).data.buffer), list = [...areas.values()];
    for (let at = 0, y = 0; y < h; y++) for (let x = 0; x < w; x++, at++) {
      const here = pixels[at], area = here >>> 8 === 0xffa050 && list[here & 255];
      if (!area) continue;
      const edge = !x || !y || x === w - 1 || y === h - 1 || [1, -1, w, -w].some(step => pixels[at + step] !== here);
      (edge ? area.rim : area.inside).push([x, y]);
    }
    for (const {zone, rim, inside} of list) {
      let best = [0];
      const every = Math.ceil(inside.length / 900);  // a wide one can be a little off its middle
      for (let k = 0; k < inside.length; k += every) {
        const [x, y] = inside[k];
        let room = Infinity;
        for (const [u, v] of rim) {
          room = Math.min(room, (x - u) ** 2 + (y - v) ** 2);
          if (room <= best[0]) break;
        }
        if (room > best[0]) best = [room, x, y];
      }
      const room = 2 * Math.sqrt(best[0]) + 1;
      if (best[0]) found.push({zone, room, sheet: sheets.indexOf(svg), x: sheet.left + best[1] + .5, y: best[2] + .5});
    }
  }
  return found;
}"""
TOP = "sheet => scrollY + document.querySelectorAll('.plate svg')[sheet].getBoundingClientRect().top"
ANSWERED = """([before, wanted]) => {
  const now = document.getElementById('chosen').dataset.zone;
  return !document.getElementById('near').hidden || now === wanted || now !== before;
}"""
OPENED = "zone => document.getElementById('chosen').dataset.zone === zone"


@pytest.fixture(scope="module")
def one_of_each(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, dict[str, str]]]:
    """A desk with one candidate of every body, all options fitted, and their ids by body."""
    desk, tables = make_desk(tmp_path_factory.mktemp("each")), load_tables()
    owner = desk.people.owner("R. Quillan").id
    ids = {body: desk.open_candidate(body, body, owner, options=[*plan_options(body, tables)]) for body in bodies()}
    while desk.refresh():
        pass
    for served in serving(desk):
        yield served, ids


class Finger:
    """A finger, or a mouse, on the metal page of one candidate."""

    def __init__(self, page: Any, size: str, address: str) -> None:
        self.page, self.size, self.address = page, size, address

    def spots(self, layer: str) -> list[dict[str, Any]]:
        """Where the zones of a layer are tapped: zone, room, sheet, x, y; the roomiest last."""
        self.page.goto(f"{self.address}?layer={layer}")
        return sorted(self.page.evaluate(SPOTS), key=lambda spot: float(spot["room"]))

    def layers(self) -> list[str]:
        self.page.goto(self.address)
        hrefs = self.page.eval_on_selector_all(
            ".choice a", "links => links.map(link => new URL(link.href).searchParams.get('layer'))"
        )
        return [str(layer) for layer in hrefs]

    def touch(self, x: float, y: float) -> None:
        """Touches or clicks at a place of the page, scrolled to the middle of the glass."""
        scrolled = self.page.evaluate("y => { scrollTo(0, y - innerHeight / 2); return scrollY; }", y)
        (self.page.touchscreen.tap if self.size == "phone" else self.page.mouse.click)(x, y - scrolled)

    def opens(self, spot: dict[str, Any]) -> bool:
        """Whether a touch there opens that very zone outright. One that the browser took for a long press does nothing: again."""
        before = self.page.evaluate("document.getElementById('chosen').dataset.zone")
        for _ in range(3):
            self.touch(spot["x"], self.page.evaluate(TOP, spot["sheet"]) + spot["y"])
            with suppress(TimeoutError):
                self.page.wait_for_function(ANSWERED, arg=[before, spot["zone"]], timeout=10_000)
                return bool(self.page.evaluate(OPENED, spot["zone"]))
        return False


def finger(chromium: Any, served: Served, id: str, size: str) -> Finger:
    width, height = SIZES[size]
    context = chromium.new_context(
        viewport={"width": width, "height": height}, has_touch=size == "phone", reduced_motion="reduce"
    )
    return Finger(context.new_page(), size, f"{served.address}/c/{id}/metal")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("body", bodies())
def test_every_zone_is_opened_by_a_tap_on_its_middle(
    chromium: Any, one_of_each: tuple[Served, dict[str, str]], body: str, size: str
) -> None:
    served, ids = one_of_each
    tables = load_tables()
    zones = {zone.id for zone in load_plan(body, tables, options=[*plan_options(body, tables)]).zones}
    hand = finger(chromium, served, ids[body], size)
    opened: dict[str, bool] = {}
    small: dict[str, tuple[float, str]] = {}
    for layer in hand.layers():
        spots = {spot["zone"]: spot for spot in hand.spots(layer)}
        for zone, spot in spots.items():
            if zone not in opened and spot["room"] >= FINGER - 1:  # whole pixels lose up to half a pixel at either edge
                opened[zone] = hand.opens(spot)
            elif zone not in opened and spot["room"] > small.get(zone, (0.0, ""))[0]:
                small[zone] = spot["room"], layer
    hand.page.context.close()
    assert {zone for zone, right in opened.items() if not right} == set(), "another zone opened, or several were offered"
    assert {zone: small.get(zone) for zone in zones - set(opened)} == {}, "too small to be tapped: px, layer"


def test_a_touch_between_two_zones_offers_both_by_name_and_opens_the_one_that_is_named(
    chromium: Any, one_of_each: tuple[Served, dict[str, str]]
) -> None:
    served, ids = one_of_each
    hand = finger(chromium, served, ids["pickup"], "phone")
    spot = next(spot for spot in hand.spots("left")[::-1] if spot["zone"] == "pu.corner.outer.l")
    down = hand.page.evaluate(
        """([x, y]) => {
          scrollTo(0, y - innerHeight / 2);
          let at = y - scrollY;
          while (document.elementFromPoint(x, at).dataset.zone === 'pu.corner.outer.l') at++;
          return at + scrollY - 2;
        }""",
        [spot["x"], hand.page.evaluate(TOP, spot["sheet"]) + spot["y"]],
    )
    hand.touch(spot["x"], down)
    hand.page.wait_for_selector("#near:not([hidden])")
    names = hand.page.locator("#near button").all_inner_texts()
    assert len(names) >= 2 and "Cab corner, outer skin, left" in names
    other = next(name for name in names if name != "Cab corner, outer skin, left")
    hand.page.get_by_role("button", name=other, exact=True).click()
    hand.page.wait_for_selector(f"#chosen h2:has-text({other!r})")
    assert hand.page.is_hidden("#near")
    hand.page.context.close()


def test_a_close_up_looks_like_that_part_of_the_whole(chromium: Any) -> None:
    """What lies outside a close-up is left out of its file; pixel by pixel nothing is missing inside.

    The browser smooths the edges of long and of short paths a little differently; a lost line would show twice as much.
    """
    page = chromium.new_page(viewport={"width": 480, "height": 480})
    style = re.compile(r"<style>.*?</style>", re.DOTALL)

    def shot(drawn: str) -> Image.Image:
        page.set_content(f"<style>body{{margin:0}}</style>{drawn}")
        return Image.open(io.BytesIO(page.screenshot())).convert("L")

    for view in [view for view in views("van") if view.form == "crop"]:
        trimmed = svg("van", view.name)
        weights = style.findall(trimmed)[0]
        whole = style.sub(weights, (SHIPPED / "van" / view.file).read_text(encoding="utf-8"), count=1)
        framed = re.sub('viewBox="[^"]*"', f'viewBox="{" ".join(map(str, view.box))}"', whole, count=1)
        assert len(trimmed) < len(framed)
        assert ImageChops.difference(shot(trimmed), shot(framed)).getextrema()[1] < 50, view.name
    page.close()
