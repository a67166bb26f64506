"""import, export and verify as they are typed: a dossier goes into the shop and comes out the same; tampering shows."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

Run = Callable[..., Any]


def test_a_dossier_goes_into_the_shop_and_out_again(run: Run, dossier: Path, tmp_path: Path) -> None:
    home = tmp_path / "shop"
    taken = run("import", dossier, "--home", home, "--json")
    assert taken.exit_code == 0, taken.output
    id = json.loads(taken.stdout)["candidate"]
    for word in (id, id[:6], "tamarack"):
        assert run("export", word, tmp_path / f"out-{word[:7]}", "--home", home).exit_code == 0
    out = tmp_path / "out-tamarac"
    before, after = (json.loads(run("weigh", folder, "--json").stdout) for folder in (dossier, out))
    assert before == after


def test_verify_is_content_with_what_was_recorded_and_leaves_with_1_where_it_was_changed(
    run: Run, dossier: Path, tmp_path: Path
) -> None:
    home = tmp_path / "shop"
    assert run("verify", "--home", home).exit_code == 0
    run("import", dossier, "--home", home)
    assert "every chain holds" in run("verify", "--home", home).stdout
    with sqlite3.connect(home / "weldworth.sqlite") as raw:
        raw.execute("update entries set body = replace(body, 'bubbling', 'original-paint') where kind = 'finding'")
    raw.close()
    result = run("verify", "--home", home, "--json")
    told = json.loads(result.stdout)
    assert (result.exit_code, told["ok"]) == (1, False)
    assert "changed afterwards" in str(told["broken"])


def test_a_candidate_that_is_not_there_or_meant_twice_is_told(run: Run, dossier: Path, tmp_path: Path) -> None:
    home = tmp_path / "shop"
    for _ in range(2):
        run("import", dossier, "--home", home)
    twice = run("export", "Tamarack", tmp_path / "out", "--home", home)
    assert (twice.exit_code, "give its id" in twice.stderr) == (2, True)
    missing = run("export", "Tamarak", tmp_path / "out", "--home", home)
    assert (missing.exit_code, "nearest: 'Tamarack'" in missing.stderr) == (3, True)


def test_a_folder_that_cannot_be_taken_in_leaves_the_shop_as_it_was(run: Run, tmp_path: Path) -> None:
    home, bad = tmp_path / "shop", tmp_path / "bad"
    bad.mkdir()
    (bad / "candidate.toml").write_text('[vehicle]\nname = "T"\nbody = "sled"\n')
    assert run("import", bad, "--home", home).exit_code == 2
    assert run("import", tmp_path / "nowhere", "--home", home).exit_code == 3
    assert "0 candidates" in run("verify", "--home", home).stdout
