"""Bench: what is seen first, and what is found again."""

from __future__ import annotations

import re

from visiting import DEMO, StoppedClock, Visitor

from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import CandidateRow, Summary


def names(page: str) -> list[str]:
    """Vehicles in the order shown."""
    return re.findall(r'<h3><a href="/c/[0-9a-f]{32}/money">([^<]+)</a>', page)


def opened(desk: Desk, name: str, closes: str | None = None, price: int = 4000, body: str = "open-tub") -> str:
    by = desk.people.owner().id
    id = desk.open_candidate(name, body, by)
    sale = {"kind": "auction" if closes else "asked", "price": price}
    desk.record(id, "sale", sale | ({"closes": closes} if closes else {}), by)
    return id


def test_an_empty_bench_says_how_to_begin(visitor: Visitor) -> None:
    page = visitor.page("/")
    assert "Paste an advertisement, drop a folder of pictures or type a name." in page
    assert 'href="/new"' in page


def test_the_demo_vehicles_come_onto_the_bench_once(visitor: Visitor, desk: Desk) -> None:
    count = len(list(DEMO.glob("*/candidate.toml")))
    for _ in range(2):
        assert visitor.submit("/demo").status_code == 303
        assert len(desk.candidates()) == count


def test_what_closes_first_stands_first_and_what_has_closed_last(visitor: Visitor, desk: Desk) -> None:
    opened(desk, "No clock")
    opened(desk, "Closed", "2026-11-24T12:00:00+00:00")
    opened(desk, "Later", "2027-02-01")
    opened(desk, "Today", "2026-11-25T23:30:00")
    opened(desk, "This week", "2026-11-28")
    page = visitor.page("/")
    assert names(page) == ["Today", "This week", "Later", "No clock", "Closed"]
    assert re.findall(r'class="grp">([^<]+)<', page) == [
        "Closing today",
        "Closing this week",
        "Closing later",
        "No clock",
        "Closed",
    ]


def test_by_worth_the_dearest_attention_stands_first(visitor: Visitor, desk: Desk) -> None:
    visitor.submit("/demo")
    desk.refresh()
    worth = [
        float(n.replace(",", "")) for n in re.findall(r'class="att"><span class="num">([\d,]+)<', visitor.page("/?order=worth"))
    ]
    assert len(worth) == 3
    assert worth == sorted(worth, reverse=True)


def test_a_candidate_shows_its_ceiling_and_price_on_the_common_axis(visitor: Visitor, desk: Desk) -> None:
    visitor.submit("/demo")
    desk.refresh()
    page = visitor.page("/")
    line = next(line for line in desk.candidates() if line.ceiling)
    assert f"{int(line.ceiling // 50) * 50:,}" in page
    assert "the ceiling</b>" in page
    assert page.count('class="dim"') >= 2


def test_what_cannot_be_weighed_says_what_is_missing(visitor: Visitor, desk: Desk) -> None:
    opened(desk, "Bare")
    desk.refresh()
    assert "No resale view yet. Give three prices, or add sales of your own." in visitor.page("/")


def test_search_and_stage_find_a_candidate_again(visitor: Visitor, desk: Desk) -> None:
    tub, van = opened(desk, "Brannock Field"), opened(desk, "Quenby Parcel", body="van")
    desk.record(van, "stage", {"stage": "bid"}, desk.people.owner().id)
    assert names(visitor.page("/?q=brannock")) == ["Brannock Field"]
    assert names(visitor.page("/?q=van")) == ["Quenby Parcel"]
    assert names(visitor.page("/?stage=bid")) == ["Quenby Parcel"]
    assert "No candidate fits" in visitor.page("/?q=harrier")
    assert tub != van


def test_what_is_put_away_is_not_lost(visitor: Visitor, desk: Desk) -> None:
    id = opened(desk, "Brannock Field")
    opened(desk, "Quenby Parcel")
    assert visitor.submit(f"/c/{id}/archive", {"away": "yes"}).status_code == 303
    assert names(visitor.page("/")) == ["Quenby Parcel"]
    assert names(visitor.page("/?archive=true")) == ["Brannock Field"]
    visitor.submit(f"/c/{id}/archive", {"away": "no"})
    assert len(names(visitor.page("/"))) == 2


def summed(desk: Desk, id: str, **asks: object) -> None:
    """Keep figures for the bench as a weighing would, the asks' as given."""
    body = {"currency": "USD", "ceiling": 5250.0, "because": "margin", "even": [3580.0, 7980.0, 11700.0], **asks}
    with desk.store.writing() as unit:
        unit.put_summary(Summary(id, desk.basis(id)[0].key, "2026-11-25", body))


def test_asks_that_pay_only_together_are_told_counted_and_sorted_by(visitor: Visitor, desk: Desk) -> None:
    alone, together, poor = (opened(desk, name, price=90_000) for name in ("Alone", "Together", "Poor"))
    none = {"best_ask": "", "best_net": 0.0}
    summed(desk, alone, best_ask="picture of a sill", best_net=310.0, together=1, together_net=310.0)
    summed(desk, together, **none, together=5, together_net=1150.0)
    summed(desk, poor, **none, together=0, together_net=0.0)
    page = visitor.page("/?order=worth")
    assert names(page) == ["Together", "Alone", "Poor"]
    row = page[page.index(">Together<") : page.index(">Alone<")]
    assert "5 asks together" in row and "1,150" in row and "none of them pays alone" in row
    assert "No ask pays for itself" in page[page.index(">Poor<") :]
    assert "Two have asks that pay." in page
    assert "data-pending" not in page


def test_while_asks_are_reckoned_the_bench_says_so_and_fetches_itself_anew(visitor: Visitor, desk: Desk) -> None:
    id = opened(desk, "Brannock Field", price=90_000)
    summed(desk, id)
    page = visitor.page("/")
    assert "The best ask is being reckoned" in page and "data-pending" in page
    assert "Asks are being reckoned." in page and '<h2 class="grp">Being weighed</h2>' in visitor.page("/?order=worth")
    summed(desk, id, best_ask="", best_net=0.0)
    page = visitor.page("/")
    assert "No single ask pays for itself" in page and "several together are being reckoned" in page and "data-pending" in page


def test_a_thousand_candidates_are_all_on_the_bench(visitor: Visitor, desk: Desk, clock: StoppedClock) -> None:
    body = {
        "currency": "USD", "ceiling": 5250.0, "because": "chance of loss", "even": [3580.0, 7980.0, 11700.0],
        "bill": [3700.0, 6000.0, 9070.0], "resale": [13790.0, 16410.0, 19520.0], "best_ask": "Picture", "best_net": 310.0,
    }  # fmt: skip
    by, now = desk.people.owner().id, clock.now().isoformat()
    with desk.store.writing() as unit:
        for number in range(1000):
            id = f"{number:032x}"
            unit.put_candidate(
                CandidateRow(
                    id, f"Ostrel {number}", "pickup", sale_kind="auction", price_low=4700.0, price_high=4700.0,
                    closes=f"2026-12-{1 + number % 28:02d}", revision=1, head="x", evidence="x", changed_at=now, changed_by=by,
                )
            )  # fmt: skip
            unit.put_summary(Summary(id, "key", "2026-11-25", body))
    assert len(names(visitor.page("/"))) == 1000
