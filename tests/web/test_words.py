"""What strangers read in their own language: nothing that the page says is missing from a catalogue, and none is left over."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from weldworth.evidence.questions import questions
from weldworth.tables import load_tables
from weldworth.vehicle.plans import load_plan, plan_options
from weldworth.web import tongues
from weldworth.web.pages.seller import GONE
from weldworth.web.sayings import ANSWERS, IN_WORDS, REASONS, SAYINGS
from weldworth.web.steps import FAULTS, Step, sayer, steps_of

TEMPLATES = Path(tongues.__file__).parent / "templates"
OTHERS = [tag for tag in tongues.languages() if tag != tongues.SOURCE]


def said_by_the_page() -> set[str]:
    found = {GONE, *SAYINGS.values(), *REASONS.values(), *(text for texts in FAULTS.values() for text in texts)}
    for template in ("seller.html", "seller_gone.html"):
        found |= set(re.findall(r'_\("([^"]+)"\)', (TEMPLATES / template).read_text(encoding="utf-8")))
    return found


def said_by_the_tables() -> set[str]:
    tables, found = load_tables(), set()
    for id, asked in questions(tables).items():
        found |= {asked.text, asked.caution} - {""}
        found |= {ANSWERS.get((id, answer), words) for answer, words in asked.answers.items()} - {""}
    found |= {row.text("instruction") for row in tables.rows("photo_words.csv", ("word", "instruction", "underneath"))}
    return found


@pytest.mark.parametrize("tag", OTHERS)
def test_everything_that_the_page_says_and_asks_is_in_the_catalogue(tag: str) -> None:
    with (tongues.FOLDER / f"{tag}.po").open("rb") as file:
        catalogue = read_po(file)
    known = {str(message.id) for message in catalogue if message.id and message.string}
    assert (said_by_the_page() | said_by_the_tables()) - known == set()


@pytest.mark.parametrize("tag", OTHERS)
def test_a_translation_has_the_same_places_for_figures_and_names(tag: str) -> None:
    with (tongues.FOLDER / f"{tag}.po").open("rb") as file:
        catalogue = read_po(file)
    places = re.compile(r"\{\w+\}|%\(\w+\)s")
    for message in catalogue:
        if message.id:
            assert sorted(places.findall(str(message.id))) == sorted(places.findall(str(message.string))), message.id


LAID_OUT = [(body, side) for body in load_tables().plan_names() for side in ("left", "right")]
ENGLISH = re.compile(r"\b(the|and|with|from|of|rail|sill|door|wheel|front|rear|floor|left|right|picture|here)\b", re.IGNORECASE)
SIDED = re.compile(r"\b(izquierd|derech)\w+", re.IGNORECASE)


def every_step(body: str, battery: str, tag: str) -> list[Step]:
    """A step for each zone, place and question of a body with everything fitted, as a page in this language says it."""
    tables = load_tables()
    plan = load_plan(body, tables, battery_side=battery, options=list(plan_options(body, tables)))
    keys = [*(f"picture:{zone.id}" for zone in plan.zones), *(f"reading:{place.id}" for place in plan.places)]
    keys += [f"question:{id}" for id in questions(tables)]
    return steps_of(keys, plan, [], tables, sayer(tongues.words(tag).gettext, tongues.SOURCE, tag))


def texts_of(step: Step) -> list[str]:
    return [step.title, step.move, *(text for shot in step.shots for text in (shot.how, shot.here))]


@pytest.mark.parametrize(("body", "battery"), LAID_OUT)
@pytest.mark.parametrize("tag", OTHERS)
def test_every_zone_and_place_of_every_body_is_said_in_the_language_of_the_page(tag: str, body: str, battery: str) -> None:
    steps = every_step(body, battery, tag)
    assert len(steps) > 60
    said = [text for step in steps for text in [*texts_of(step), *(words for _, words in step.answers)]]
    assert [text for text in said if 'lang="en"' in text or ENGLISH.search(text)] == []


@pytest.mark.parametrize(("body", "battery"), LAID_OUT)
def test_spanish_never_turns_left_and_right_about(body: str, battery: str) -> None:
    """A zone's side stands beside its name, by the id's .l or .r; only a door gap names it itself. Real Academia Española,
    Diccionario: "izquierda" is the side of the heart."""
    for step in every_step(body, battery, "es"):
        named = {word.casefold()[:6] for text in texts_of(step) for word in SIDED.findall(text)}
        id = step.key.partition(":")[2]
        if step.kind == "reading":
            assert named == {{"l": "izquie", "r": "derech"}[id.rpartition(".")[2]]}, step.key
        else:
            assert named == set(), step.key
    assert (tongues.words("es").gettext("left"), tongues.words("es").gettext("right")) == ("izquierda", "derecha")


def test_answers_worded_for_the_seller_are_answers_of_questions_that_there_are() -> None:
    asked = questions(load_tables())
    assert [key for key in ANSWERS if key[1] not in asked[key[0]].answers] == []
    assert [id for id, answer in IN_WORDS.items() if answer not in asked[id].answers] == []


@pytest.mark.parametrize(
    ("wishes", "tag"),
    [
        ("es-MX,es;q=0.9,en;q=0.8", "es"),
        ("fr,en;q=0.8,es;q=0.9", "es"),
        ("de", "en"),
        (None, "en"),
        ("es;q=x,*", "en"),
        ("", "en"),
    ],
)
def test_the_browsers_wish_chooses_the_language(wishes: str | None, tag: str) -> None:
    """RFC 9110 section 12.5.4: the highest weight first; RFC 4647 section 3.4: a region falls back on its language."""
    assert tongues.chosen(None, wishes) == tag


def test_each_language_is_written_in_its_own_direction() -> None:
    """Unicode CLDR, character orientation: Spanish left to right, Arabic right to left."""
    assert (tongues.direction("es"), tongues.direction("ar")) == ("ltr", "rtl")
