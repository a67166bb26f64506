"""Pictures in the weighing: whose word counts, what is asked of the user, what contradicts what was said.

What was seen is given as values here; tests/store/test_weighing_pictures.py looks at real pictures.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from candidates import TABLES, TODAY, candidate, weighed

from weldworth.evidence.pictures import Region, Shown
from weldworth.evidence.records import Answer, Finding
from weldworth.exposure.history import Residence
from weldworth.vehicle.plans import load_plan
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.doubts import picture_remarks
from weldworth.workbench.ports import Seen, Sight
from weldworth.workbench.sights import around
from weldworth.workbench.weigh import Weighing, belief_of, exposure_of

ZONE, OTHER = "mc.sill.outer.l", "mc.sill.outer.r"
LABELS = {zone.id: zone.label for zone in load_plan("coupe", TABLES).zones}
RUSTY = (("surface-rust", 0.97), ("bubbling", 0.6))


def sight(signs: tuple[tuple[str, float], ...] = RUSTY, q: float = 0.8, region: Region | None = None) -> Sight:
    return Sight(region, q, q >= 0.3, (), "Blurred. Hold it still.", 12.0, 4.0, 3, 0.97, signs)


def saw(whole: Sight | None = None, **changes: object) -> Seen:
    usual = Seen("0" * 64, 1024, 768, None, whole=whole or sight())
    return replace(usual, **changes)  # type: ignore[arg-type]


def shown(*zones: str, file: str = "sill.jpg", **changes: object) -> Shown:
    usual = Shown(file, zones, source="asked-picture", where=f"picture {file}")
    return replace(usual, **changes)  # type: ignore[arg-type]


def with_pictures(*pairs: tuple[Shown, Seen], records: tuple[Finding | Answer, ...] = (), **changes: object) -> Dossier:
    files = {one.file: seen for one, seen in pairs}
    return candidate(records, shown=tuple(one for one, _ in pairs), pictures=tuple(files), seen=files, **changes)


def beliefs(dossier: Dossier) -> np.ndarray:
    plan = load_plan(dossier.vehicle.body, TABLES)
    return belief_of(dossier, plan, exposure_of(dossier, TABLES, TODAY), TABLES, TODAY).zones


def chances(dossier: Dossier, zone: str = ZONE) -> np.ndarray:
    return beliefs(dossier)[load_plan("coupe", TABLES).index[zone]]


def codes(dossier: Dossier) -> set[tuple[str, str]]:
    return {(remark.code, remark.about) for remark in picture_remarks(dossier, TODAY, LABELS)}


NOTHING = candidate()
RUST = with_pictures((shown(ZONE), saw()))
CLEAN = with_pictures((shown(ZONE), saw(sight(()))))


def test_a_picture_with_rust_moves_its_zone_and_the_bill_and_a_clean_one_moves_them_back():
    rusty, nothing, clean = (chances(one)[1:4].sum() for one in (RUST, NOTHING, CLEAN))
    assert clean < nothing < rusty
    weighings = [weighed(shown=one.shown, pictures=one.pictures, seen=one.seen) for one in (RUST, NOTHING, CLEAN)]
    bills = [one.bill.mean for one in weighings]
    assert bills[0] > bills[1] > bills[2]
    assert any("by the machine on sill.jpg" in piece.text for piece in weighings[0].belief.pieces)


@pytest.mark.parametrize("zone", [ZONE, ""], ids=["at the zone", "on the whole picture"])
def test_what_was_dismissed_moves_nothing(zone):
    dismissed = frozenset((sign, zone) for sign, _ in RUSTY)
    assert np.array_equal(beliefs(with_pictures((shown(ZONE, dismissed=dismissed), saw()))), beliefs(NOTHING))


def test_silence_about_a_dismissed_sign_moves_nothing_either():
    quiet = with_pictures((shown(ZONE, dismissed=frozenset({("surface-rust", ZONE)})), saw(sight(()))))
    assert np.array_equal(beliefs(quiet), beliefs(NOTHING))


@pytest.mark.parametrize(
    "said",
    [
        Finding(ZONE, "surface-rust", "asked-picture", quality=0.8, picture="sill.jpg", where="f"),
        Finding(ZONE, "surface-rust", "asked-picture", absent=True, quality=0.8, picture="sill.jpg", where="f"),
        Finding(ZONE, "original-paint", "asked-picture", quality=0.8, picture="sill.jpg", where="f"),
    ],
    ids=["the same sign", "not there", "clean metal"],
)
def test_a_persons_finding_on_the_picture_takes_the_machines_place(said):
    """What stands with both is what the person alone says, where the machine said no more than that sign."""
    only = sight((("surface-rust", 0.97),))
    both = with_pictures((shown(ZONE), saw(only)), records=(said,))
    alone = candidate((replace(said, picture=None),))
    assert np.allclose(beliefs(both), beliefs(alone), atol=1e-12)


def test_a_finding_elsewhere_or_on_another_picture_leaves_the_machine_its_word():
    for said in (
        Finding(ZONE, "surface-rust", "asked-picture", quality=0.8, picture="other.jpg", where="f"),
        Finding(OTHER, "surface-rust", "asked-picture", quality=0.8, picture="sill.jpg", where="f"),
    ):
        both = with_pictures((shown(ZONE), saw()), records=(said,))
        assert not np.allclose(beliefs(both), beliefs(candidate((said,))), atol=1e-6)


def test_a_person_who_sees_rust_or_a_cover_ends_the_machines_no_rust():
    for sign in ("scale", "fresh-coating"):
        said = Finding(ZONE, sign, "asked-picture", quality=0.8, picture="sill.jpg", where="f")
        quiet = with_pictures((shown(ZONE), saw(sight(()))), records=(said,))
        assert np.allclose(beliefs(quiet), beliefs(candidate((said,))), atol=1e-12)


def test_the_same_picture_twice_counts_once_and_mirrored_not_at_all():
    again = (shown(ZONE, file="again.jpg"), saw(repeats={"sill.jpg": "same"}))
    assert np.array_equal(beliefs(with_pictures((shown(ZONE), saw()), again)), beliefs(RUST))
    turned = (shown(OTHER, file="turned.jpg"), saw(repeats={"sill.jpg": "mirrored"}))
    twice = with_pictures((shown(ZONE), saw()), turned)
    assert np.array_equal(beliefs(twice), beliefs(RUST))
    assert ("alike", "turned.jpg") in codes(twice)
    part = (shown(OTHER, file="part.jpg"), saw(repeats={"sill.jpg": "part"}))
    assert not np.array_equal(beliefs(with_pictures((shown(ZONE), saw()), part)), beliefs(RUST)), "it shows another zone"


def test_a_finding_on_a_picture_takes_the_quality_measured_there():
    region, about = (510, 310, 590, 390), (350, 150, 750, 550)
    seen = saw(sight(q=0.9), parts={about: sight(q=0.3, region=about)})

    def found(**more: object) -> np.ndarray:
        said = Finding(ZONE, "bubbling", "asked-picture", picture="sill.jpg", where="f", **more)  # type: ignore[arg-type]
        return chances(with_pictures((shown(), seen), records=(said,)))

    stated = [found(quality=q) for q in (0.9, 0.3, 0.5)]
    assert np.allclose(found(), stated[0]) and np.allclose(found(region=region), stated[1])
    assert np.allclose(found(quality=0.5, region=region), stated[2])
    own = Finding(ZONE, "bubbling", "own-ground", picture="sill.jpg", where="f")
    assert np.allclose(chances(with_pictures((shown(), seen), records=(own,))), chances(candidate((own,)))), "hands saw more"


@pytest.mark.parametrize(
    ("mark", "about"),
    [
        ((0, 0, 20, 20), (0, 0, 400, 400)),
        ((1000, 740, 1024, 768), (624, 368, 1024, 768)),
        ((100, 100, 900, 700), (100, 100, 900, 700)),
    ],
)
def test_a_box_close_about_a_sign_is_judged_with_what_is_about_it(mark, about):
    """In a picture of 1024 x 768 pixels; in a smaller one as far as it goes."""
    assert around(mark, saw()) == about
    assert around((5, 5, 9, 9), saw(width=120, height=80)) == (0, 0, 120, 80)


def test_measured_quality_clears_no_more_of_a_half_hidden_zone_than_lies_open():
    plan = load_plan("coupe", TABLES)
    half = next(zone.id for zone in plan.zones if zone.view == "half" and not zone.inside)
    said = Finding(half, "original-paint", "asked-picture", picture="sill.jpg", where="f")
    measured = chances(with_pictures((shown(), saw(sight(q=0.8))), records=(said,)), half)
    whole = chances(candidate((replace(said, quality=0.8),)), half)
    assert measured[0] < whole[0]


def test_a_picture_too_poor_to_show_anything_does_not_clear_and_says_what_to_do():
    poor = with_pictures((shown(ZONE), saw(sight((), q=0.1))))
    assert np.array_equal(beliefs(poor), beliefs(NOTHING))
    (remark,) = picture_remarks(poor, TODAY, LABELS)
    assert (remark.code, remark.about) == ("picture-poor", "sill.jpg")
    assert remark.text.startswith(f"shows {LABELS[ZONE]} too poorly to clear it") and "Hold it still" in remark.text


def test_pictures_on_no_zone_are_asked_for_and_never_passed_over_in_silence():
    loose = with_pictures((shown(), saw()), (shown(file="b.jpg"), saw(sight(()))))
    (remark,) = picture_remarks(loose, TODAY, LABELS)
    assert remark.code == "picture-unplaced" and "2 pictures are on no zone" in remark.text
    assert "put each on the zones" in remark.text and remark.text.endswith("perhaps rust on sill.jpg")
    assert np.array_equal(beliefs(loose), beliefs(NOTHING))
    named = Finding(ZONE, "bubbling", "asked-picture", picture="sill.jpg", where="f")
    assert "1 picture is on no zone" in picture_remarks(replace(loose, records=(named,)), TODAY, LABELS)[0].text


def test_a_picture_of_which_nobody_said_how_it_came_is_the_sellers_own_and_that_is_said():
    untold = with_pictures((shown(ZONE, source=None), saw()))
    assert ("picture-source", "pictures") in codes(untold)
    assert np.array_equal(beliefs(untold), beliefs(with_pictures((shown(ZONE, source="beauty-picture"), saw()))))
    old = with_pictures((shown(ZONE, source=None), saw(taken_on=date(2022, 5, 1))))
    told = with_pictures((shown(ZONE, source="old-picture", taken_on=date(2022, 5, 1)), saw()))
    assert np.array_equal(beliefs(old), beliefs(told))


def test_what_cannot_be_looked_at_or_marked_is_said():
    lost = with_pictures((shown(ZONE), Seen("", problem="cannot be opened; put the picture back")))
    assert codes(lost) == {("picture-unread", "sill.jpg")}
    outside = with_pictures((shown(ZONE, regions={ZONE: (0, 0, 5000, 20)}), saw()))
    assert codes(outside) == {("picture-region", "sill.jpg")} and np.array_equal(beliefs(outside), beliefs(NOTHING))


@pytest.mark.parametrize(
    ("taken", "said", "answers", "code"),
    [
        (date(2026, 10, 20), date(2026, 10, 20), (), None),
        (date(2025, 7, 5), date(2026, 10, 20), (), "older-than-said"),
        (date(2026, 10, 25), date(2026, 10, 20), (), "newer-than-said"),
        (date(2026, 10, 3), date(2026, 10, 16), (), None),  # "2026-10" is kept as the middle of the month
        (date(2027, 1, 1), None, (), "clock"),
        (date(1959, 1, 1), None, (), "clock"),
        (None, date(2026, 10, 20), (), "no-date"),
        (date(2024, 5, 1), None, (Answer("owned", "under-one", date(2026, 10, 1), where="a"),), "before-owner"),
        (date(2026, 5, 1), None, (Answer("owned", "under-one", date(2026, 10, 1), where="a"),), None),
        (date(2024, 5, 1), None, (Answer("owned", "over-five", date(2026, 10, 1), where="a"),), None),
    ],
)
def test_a_day_that_contradicts_what_was_said_is_remarked_on(taken, said, answers, code):
    dossier = with_pictures((shown(ZONE, taken_on=said), saw(taken_on=taken)), records=answers)
    assert codes(dossier) == ({(code, "sill.jpg")} if code else set())


def test_a_finding_that_says_another_day_than_its_picture_and_a_picture_from_before_the_move_are_remarked_on():
    said = Finding(ZONE, "bubbling", "asked-picture", picture="sill.jpg", seen_on=date(2026, 10, 20), where="f")
    assert codes(with_pictures((shown(), saw(taken_on=date(2023, 4, 1))), records=(said,))) == {("older-than-said", "sill.jpg")}
    lived = (Residence("Detroit, MI", 1966, 2015), Residence("Tucson, AZ", 2015))
    moved = with_pictures((shown(ZONE), saw(taken_on=date(2012, 4, 1))), residences=lived)
    (remark,) = picture_remarks(moved, TODAY, LABELS)
    assert remark.code == "before-move" and "before it came to Tucson, AZ (2015)" in remark.text


def test_a_program_that_edits_pictures_is_remarked_on():
    edited = with_pictures((shown(ZONE), saw(edited=("was saved by GIMP 2.10",))))
    assert codes(edited) == {("edited", "sill.jpg")}


def test_the_remarks_stand_in_the_weighing():
    found: Weighing = weighed(pictures=("a.jpg",))
    assert "picture-unplaced" in {remark.code for remark in found.remarks}
