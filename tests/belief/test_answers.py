"""What the seller's answers do, and that the table of answers speaks of things that exist."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from vehicles import BODIES, TABLES, TODAY

from weldworth.belief.answers import COLUMNS, chosen, hear
from weldworth.belief.believe import Belief, believe
from weldworth.belief.pieces import cause_signs
from weldworth.belief.sight import lexicon
from weldworth.evidence.questions import REFUSED, questions
from weldworth.evidence.records import Answer
from weldworth.exposure.result import flat
from weldworth.vehicle.plans import load_plan

ROWS = TABLES.rows("answers.csv", COLUMNS)


def told(body: str, *answers: tuple[str, str], lived: bool = False) -> Belief:
    heard = hear([Answer(q, a, where=f"answer {q}") for q, a in answers], TABLES, lived=lived, ramps=cause_signs(TABLES))
    return believe(load_plan(body, TABLES), flat(1.0, 0.3), [], TABLES, today=TODAY, heard=heard)


def test_every_weighed_answer_is_one_that_can_be_given():
    known = questions(TABLES)
    for row in ROWS:
        assert row.text("question") in known, row.where
        assert row.text("answer") in {*known[row.text("question")].answers, REFUSED}, row.where


def test_every_answer_that_speaks_of_zones_finds_some_in_at_least_one_plan_and_signs_that_exist():
    plans = [load_plan(body, TABLES) for body in BODIES]
    lex = lexicon(TABLES)
    for row in ROWS:
        if row.text("effect") in ("sign", "odds"):
            assert any(chosen(plan, row.text("target")) for plan in plans), row.where
        if row.text("effect") == "sign":
            assert row.text("what") in lex.signs, row.where
        if row.text("effect") in ("drop", "level"):
            assert row.text("what") in lex.tells, row.where


def test_a_crunching_floor_makes_a_hole_there_likelier_and_a_firm_one_less_likely():
    before = told("coupe").of("mc.floor.front.l")["holed"]
    assert told("coupe", ("floor-press", "firm")).of("mc.floor.front.l")["holed"] < before
    moves = told("coupe", ("floor-press", "moves")).of("mc.floor.front.l")["holed"]
    assert before < moves < told("coupe", ("floor-press", "crunches")).of("mc.floor.front.l")["holed"]


def test_a_short_owner_makes_a_dressed_vehicle_likelier_and_a_file_a_mended_one():
    usual = told("van").repair
    assert told("van", ("owned", "under-one")).repair["dressed"] > usual["dressed"]
    filed = told("van", ("owned", "over-five-file")).repair
    assert filed["dressed"] < usual["dressed"]
    assert filed["mended"] / filed["dressed"] > usual["mended"] / usual["dressed"]


def test_a_wet_footwell_raises_floor_and_glass_and_leaves_the_frame_alone():
    before, after = told("pickup"), told("pickup", ("water-inside", "wet-footwell"))
    assert after.of("pu.floor.front.l")["holed"] > before.of("pu.floor.front.l")["holed"] + 0.05
    assert after.of("pu.ws.inner")["holed"] > before.of("pu.ws.inner")["holed"] + 0.05
    assert after.of("pu.frame.shackle.l")["holed"] == pytest.approx(before.of("pu.frame.shackle.l")["holed"], abs=1e-9)
    assert told("pickup", ("water-inside", "dry")).of("pu.floor.front.l")["holed"] < before.of("pu.floor.front.l")["holed"]


def test_a_door_that_drops_raises_the_post_behind_it():
    before, drops = told("roadster"), told("roadster", ("doors", "drops"))
    assert drops.of("sr.apost.l")["holed"] > before.of("sr.apost.l")["holed"]
    assert told("roadster", ("doors", "even")).of("sr.apost.l")["holed"] < before.of("sr.apost.l")["holed"]


def test_what_the_history_says_already_is_not_counted_twice():
    alone = told("coupe", ("salted-winters", "every-winter")).of("mc.rail.rear.l")["holed"]
    known = told("coupe", ("salted-winters", "every-winter"), lived=True).of("mc.rail.rear.l")["holed"]
    assert known == pytest.approx(told("coupe", lived=True).of("mc.rail.rear.l")["holed"])
    assert alone > known


def test_a_free_text_is_kept_and_moves_nothing():
    assert np.array_equal(told("van", ("fix-first", "the clutch, some day")).zones, told("van").zones)


def test_doubtful_numbers_bring_the_word_to_stop():
    heard = hear([Answer("numbers-match", "doubtful")], TABLES)
    assert [remark.about for remark in heard.remarks] == ["numbers-match"]
    assert "stop until the licensing authority has ruled" in heard.remarks[0].text


def test_one_answer_about_many_zones_is_many_weak_voices():
    """Refusing to lift the mats moves one floor less than refusing to show that floor alone would."""
    heard = hear([Answer("mats", "glued", where="a")], TABLES)
    pieces = heard.pieces(load_plan("coupe", TABLES))
    alone = lexicon(TABLES).signs["not-shown"].chance
    assert len(pieces) > 2
    assert all(piece.strength < np.ptp(np.log(alone)) for piece in pieces)
    assert replace(heard, effects=()).pieces(load_plan("coupe", TABLES)) == []
