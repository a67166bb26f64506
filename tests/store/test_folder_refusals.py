"""What the reader of a dossier folder refuses: each mistake by file, key, value and remedy."""

from __future__ import annotations

from pathlib import Path

import pytest
from refusals import FINDING, REFUSALS, with_item
from written import BASIC, LEFT, TABLES, a_folder, filled, read, refused

from weldworth.core.errors import NotFound


@pytest.mark.parametrize("case", REFUSALS, ids=str)
def test_the_trader_is_told_what_to_mend(case: str, tmp_path: Path) -> None:
    text, told = REFUSALS[case]
    lines = refused(a_folder(tmp_path, text))
    assert len(lines) == 1 and told in lines[0] and lines[0].startswith("candidate.toml: "), lines


def test_every_problem_of_the_file_is_told_in_one_run(tmp_path: Path) -> None:
    text = (
        BASIC.replace("bubbling", "bubling").replace("asked-picture", "psychic")
        + 'quality = 7\nseen_on = 2040\n[[history]]\nfrom = 1974\nstorage = "cave"\n[sale]\nkind = "asked"\nprice = -3\n[extra]\n'
    )
    lines = refused(a_folder(tmp_path, text, comparables_csv="price\n5000\n"))
    words = ("bubling", "psychic", "quality is 7", "seen_on is 2040", "'cave'", "price is -3", "'extra'", "comparables.csv")
    assert [word for word in words if not any(word in line for line in lines)] == []
    assert len(lines) == len(words)


def test_an_unknown_body_does_not_hide_the_other_mistakes(tmp_path: Path) -> None:
    lines = refused(a_folder(tmp_path, BASIC.replace("pickup", "submarine").replace("bubbling", "bubling")))
    assert len(lines) == 2 and "submarine" in lines[0] and "bubling" in lines[1]


def test_a_zone_of_an_option_that_is_not_fitted_is_known_and_refused_for_that(tmp_path: Path) -> None:
    from weldworth.vehicle.plans import load_plan, plan_options

    options = list(plan_options("coupe", TABLES))
    bare, fitted = load_plan("coupe", TABLES), load_plan("coupe", TABLES, options=options)
    zone = next(zone.id for zone in fitted.zones if zone.id not in bare.index)
    text = BASIC.replace("pickup", "coupe").replace("{outside}", zone)
    assert "but not fitted on this vehicle; mend options in [vehicle]" in refused(a_folder(tmp_path, text))[0]
    with_options = text.replace('body = "coupe"', f'body = "coupe"\noptions = {options}')
    assert len(read(a_folder(tmp_path, with_options)).records) == 1


def test_a_picture_that_is_not_there_is_refused_with_the_nearest_name(tmp_path: Path) -> None:
    folder = a_folder(tmp_path, filled(FINDING, 'picture = "cornr.jpg"'), pictures=("corner.jpg", "rear.jpg"))
    assert refused(folder) == ["candidate.toml: finding 1: picture 'cornr.jpg' is not known here; nearest: 'corner.jpg'"]


@pytest.mark.parametrize("region", ["[1, 2, 3]", "[9, 2, 3, 4]", "[1.5, 2, 3, 4]", '"all"', "[-1, 0, 5, 5]"])
def test_a_region_that_frames_nothing_is_refused(region: str, tmp_path: Path) -> None:
    text = filled(FINDING, f'picture = "pictures/corner.jpg"\nregion = {region}')
    lines = refused(a_folder(tmp_path, text, pictures=("corner.jpg",)))
    assert len(lines) == 1 and "finding 1: region" in lines[0] and "left, top, right, bottom" in lines[0]


def test_a_correction_may_only_name_an_earlier_record_of_its_kind(tmp_path: Path) -> None:
    second = f'[[finding]]\nid = "two"\nzone = "{LEFT}"\nsign = "hole"\nsource = "own-ground"\nreplaces = '
    corrected = read(a_folder(tmp_path, BASIC + second + '"finding 1"')).records[1]
    assert corrected.replaces == "candidate.toml: finding 1"
    assert "earlier finding 'two' is not known here" in refused(a_folder(tmp_path, BASIC + second + '"two"'))[0]
    twice = BASIC + 'id = "two"\n' + second + '"finding 1"'
    assert "id 'two' is taken by finding 1" in refused(a_folder(tmp_path, twice))[0]


def test_a_wall_twice_as_thick_as_new_metal_is_doubted(tmp_path: Path) -> None:
    text = with_item(f'[[reading]]\nzone = "{LEFT}"\nkind = "wall"\nvalue = 0.9\nunit = "in"\nsource = "own-lift"')
    remark = read(a_folder(tmp_path, text)).remarks[0]
    assert (remark.code, remark.about) == ("odd-reading", LEFT) and "22.86 mm" in remark.text and "check the unit" in remark.text


def test_what_is_not_read_is_said(tmp_path: Path) -> None:
    folder = a_folder(tmp_path, pictures=("a.jpg", "list.pdf"), comparable_csv="price\n")
    assert [(remark.code, remark.about) for remark in read(folder).remarks] == [
        ("not-read", "comparable.csv"),
        ("not-a-picture", "pictures/list.pdf"),
    ]


def test_a_mistake_of_syntax_is_told_with_its_line(tmp_path: Path) -> None:
    lines = refused(a_folder(tmp_path, '[vehicle]\nname = "Tamarack"\nbody = pickup\n'))
    assert len(lines) == 1 and lines[0].startswith("candidate.toml line 3: cannot be read as TOML")
    assert "mend this line: 'body = pickup'" in lines[0]
    assert refused(a_folder(tmp_path, "[vehicle"))[0].startswith("candidate.toml line 1: ")


def test_a_file_that_is_not_utf_8_is_told_with_its_line(tmp_path: Path) -> None:
    folder = a_folder(tmp_path)
    (folder / "candidate.toml").write_bytes('[vehicle]\nname = "Fj\xe4ll"\n'.encode("latin-1"))
    assert refused(folder) == ["candidate.toml line 2: byte 0xe4 is not UTF-8 text; save the file as UTF-8"]


def test_the_mark_that_some_editors_put_before_the_text_does_no_harm(tmp_path: Path) -> None:
    assert read(a_folder(tmp_path, "\ufeff" + BASIC)).vehicle.name == "Tamarack"


def test_a_folder_that_is_not_there_is_not_found(tmp_path: Path) -> None:
    a_folder(tmp_path)
    with pytest.raises(NotFound, match="there is no such folder; nearest: 'tamarack'"):
        read(tmp_path / "tamarak")


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    assert "the folder is empty; put a candidate.toml into it" in refused(tmp_path)[0]


def test_a_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    assert "is a file; give the folder that holds candidate.toml" in refused(a_folder(tmp_path) / "candidate.toml")[0]


def test_a_folder_without_its_file_is_refused_with_the_nearest_name(tmp_path: Path) -> None:
    folder = a_folder(tmp_path)
    (folder / "candidate.toml").rename(folder / "candidat.toml")
    assert "there is no candidate.toml; rename 'candidat.toml' if that is it" in refused(folder)[0]


def test_pictures_as_a_file_and_candidate_as_a_folder_are_refused(tmp_path: Path) -> None:
    (tmp_path / "candidate.toml").mkdir()
    (tmp_path / "pictures").write_text("")
    lines = refused(tmp_path)
    assert len(lines) == 2 and "candidate.toml: cannot be read" in lines[0] and "pictures: is a file" in lines[1]


@pytest.mark.parametrize("text", ["x = " + "[" * 5000, "x = " + "9" * 5000, "[vehicle]\nmodel_year = 1" + "0" * 400, "\x00"])
def test_what_only_a_machine_would_write_is_refused_too(text: str, tmp_path: Path) -> None:
    assert all(line.startswith("candidate.toml") for line in refused(a_folder(tmp_path, text)))
