"""The demo: shipped dossiers copied to the trader, never over what the trader changed, weighed and reported."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from weldworth.cli.demo import copied
from weldworth.core.errors import BadInput, NotFound

Run = Callable[..., Any]


@pytest.fixture
def shipped(dossier: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of one dossier in place of the shipped ones."""
    monkeypatch.setattr("weldworth.cli.demo.copied", lambda target: copied(target, dossier.parent))
    return dossier.parent


def test_the_demo_copies_weighs_and_reports(run: Run, shipped: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    home = tmp_path_factory.mktemp("home")
    result = run("demo", "--home", home, "--no-serve")
    assert result.exit_code == 0, result.stderr
    assert (home / "demo" / "tamarack" / "candidate.toml").is_file()
    assert (home / "reports" / "tamarack.pdf").read_bytes().startswith(b"%PDF")
    assert "The demo dossiers" in result.stdout and "The ceiling" in result.stdout
    assert f"Dossiers: {home / 'demo'}" in result.stdout and f"Reports: {home / 'reports'}" in result.stdout


def test_what_the_trader_changed_is_kept_and_said(run: Run, shipped: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    home = tmp_path_factory.mktemp("home")
    mine = home / "demo" / "tamarack" / "candidate.toml"
    mine.parent.mkdir(parents=True)
    changed = (shipped / "tamarack" / "candidate.toml").read_text(encoding="utf-8").replace("Tamarack", "My own Tamarack")
    mine.write_text(changed, encoding="utf-8")
    found = json.loads(run("demo", "--home", home, "--json").stdout)
    assert mine.read_text(encoding="utf-8") == changed
    assert found["kept"] == [str(mine)] and found["dossiers"][0]["weighing"]["candidate"] == "My own Tamarack"


def test_the_home_may_be_named_by_the_environment(
    run: Run, shipped: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("WELDWORTH_HOME", str(home))
    assert json.loads(run("demo", "--json").stdout)["home"] == str(home)


def test_a_problem_in_a_demo_dossier_names_the_dossier(run: Run, shipped: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    home = tmp_path_factory.mktemp("home")
    mine = home / "demo" / "tamarack" / "candidate.toml"
    mine.parent.mkdir(parents=True)
    mine.write_text('[vehicle]\nname = "T"\nbody = "roadstr"\n', encoding="utf-8")
    result = run("demo", "--home", home)
    assert result.exit_code == 2 and result.stderr.startswith("tamarack/candidate.toml: ") and "'roadster'" in result.stderr


def test_a_home_that_is_a_file_is_refused_and_left_alone(dossier: Path, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.write_text("mine", encoding="utf-8")
    with pytest.raises(BadInput, match="give another folder"):
        copied(home / "demo", dossier.parent)
    assert home.read_text(encoding="utf-8") == "mine"


def test_an_installation_without_demo_dossiers_says_so(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="install weldworth anew"):
        copied(tmp_path / "demo", tmp_path / "nothing")
