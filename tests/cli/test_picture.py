"""picture check, rust, measure and plate as they are typed: on real pictures, on rendered ones, on what is broken."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

Run = Callable[..., Any]
PICTURES = Path(__file__).resolve().parents[1] / "picture"
DATA = PICTURES / "data"
PANEL, BROKEN = DATA / "intake_panel_a.jpg", DATA / "intake_broken.png"
sys.path.insert(0, str(PICTURES))


@pytest.fixture(scope="module")
def printed_plate(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A rendered plate with a check digit, and what it says."""
    from plates import plate

    scene = next(one for one in (plate(seed, "printed") for seed in range(50)) if one.checked)
    path = tmp_path_factory.mktemp("plate") / "plate.png"
    Image.fromarray(scene.image).save(path)
    return path, scene.text


def test_check_tells_of_each_and_of_the_one_that_cannot_be_read(run: Run, tmp_path: Path) -> None:
    result = run("picture", "check", PANEL, BROKEN, tmp_path / "nowhere.jpg", "--json")
    told = json.loads(result.stdout)
    assert result.exit_code == 2
    assert [one["name"] for one in told["pictures"]] == [PANEL.name]
    assert [problem["where"].rsplit("/", 1)[-1] for problem in told["problems"]] == [BROKEN.name, "nowhere.jpg"]
    assert 0.5 < told["pictures"][0]["q"] <= 1


def test_check_finds_the_copy_in_a_folder(run: Run, tmp_path: Path) -> None:
    Image.open(PANEL).save(tmp_path / "a.png")
    Image.open(PANEL).resize((700, 315)).save(tmp_path / "b.jpg", quality=80)
    told = json.loads(run("picture", "check", tmp_path, "--json").stdout)
    assert [bool(one["remarks"]) for one in told["pictures"]] == [False, True]
    assert "a.png" in str(told["pictures"][1]["remarks"])


def test_check_names_a_clock_that_runs_ahead_and_a_program_that_saved_it(run: Run, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0131] = "GIMP 2.10"
    exif.get_ifd(0x8769)[0x9003] = "2031:05:04 10:00:00"
    Image.open(PANEL).save(tmp_path / "later.jpg", exif=exif)
    (told,) = json.loads(run("picture", "check", tmp_path / "later.jpg", "--json").stdout)["pictures"]
    assert any("2031" in remark for remark in told["remarks"]) and any("GIMP" in remark for remark in told["remarks"])


def test_check_of_an_empty_folder_says_so(run: Run, tmp_path: Path) -> None:
    result = run("picture", "check", tmp_path)
    assert (result.exit_code, result.stdout) == (0, "No pictures there.\n")


def test_rust_is_found_and_drawn_on_a_rusty_panel(run: Run, tmp_path: Path) -> None:
    result = run("picture", "rust", PANEL, "--out", tmp_path / "marked", "--json")
    (told,) = json.loads(result.stdout)["pictures"]
    assert told["chance"] > 0.9 and told["area_percent"] > 1
    with Image.open(told["overlay"]) as drawn, Image.open(PANEL) as own:
        assert drawn.size == own.size


def test_rust_of_a_region_is_refused_where_it_lies_outside(run: Run) -> None:
    result = run("picture", "rust", PANEL, "--region", "900,0,5000,100")
    assert result.exit_code == 2 and PANEL.name in result.stderr and "5000" in result.stderr


def test_a_length_between_tapped_points_comes_out_in_millimetres(run: Run) -> None:
    """Along the line of the two points, a length twice theirs is twice as long: plain geometry."""
    words = (
        "picture",
        "measure",
        PANEL,
        "--between",
        "400,200 500,200",
        "--apart",
        "50",
        "--length",
        "400,200 600,200",
        "--json",
    )
    (told,) = json.loads(run(*words).stdout)["pictures"]
    length = told["measures"]["length"]
    assert length["value"] == pytest.approx(100, rel=0.05)
    assert length["low"] < 100 < length["high"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "--object"),
        (("--object", "card"), "nothing is marked"),
        (("--object", "crad", "--rust"), "nearest: 'card'"),
        (("--object", "card", "--near", "middle", "--rust"), "--near: 'middle'"),
        (("--between", "1,1", "--apart", "5", "--rust"), "--between"),
        (("--between", "1,1 90,90", "--apart", "-5", "--rust"), "-5"),
        (("--object", "quarter", "--near", "5000,10", "--rust"), "5000"),
        (("--object", "card", "--area", "1,1 2,2"), "--area"),
    ],
)
def test_what_cannot_be_measured_is_told_in_one_line_with_the_remedy(run: Run, words: tuple[str, ...], told: str) -> None:
    result = run("picture", "measure", PANEL, *words)
    assert result.exit_code == 2 and told in result.stderr and len(result.stderr.splitlines()) == 1
    assert result.stdout == ""


def test_a_plate_is_read_and_only_suggested(run: Run, printed_plate: tuple[Path, str], tmp_path: Path) -> None:
    path, text = printed_plate
    result = run("picture", "plate", path, "--out", tmp_path / "cut", "--json")
    (told,) = json.loads(result.stdout)["pictures"]
    assert told["candidates"][0]["text"] == text and told["candidates"][0]["check"] == "right"
    assert sum(one["probability"] for one in told["candidates"]) + told["other"] <= 1 + 1e-6
    assert Path(told["crop"]).is_file()
    assert "compare every character" in run("picture", "plate", path).stdout


def test_a_picture_without_a_plate_is_refused_with_the_remedy(run: Run) -> None:
    result = run("picture", "plate", PANEL)
    assert result.exit_code == 2 and "mark the plate" in result.stderr


def test_what_pictures_can_be_asked_is_shown_without_a_command(run: Run) -> None:
    result = run("picture")
    assert result.exit_code == 0 and all(name in result.stdout for name in ("check", "rust", "measure", "plate"))
