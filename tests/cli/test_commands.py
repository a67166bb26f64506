"""The commands as a trader types them: what comes out, and what other programs may rely on."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tomllib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

import weldworth
from weldworth.cli.main import app
from weldworth.report.strokes import DRAWN

Run = Callable[..., Any]
ROOT = Path(__file__).resolve().parents[2]
CONDITIONS = {"sound", "surface", "pitted", "holed", "mended", "masked"}


def numbers(value: object) -> list[float]:
    """Every number in a nested JSON value."""
    if isinstance(value, dict):
        return [n for item in value.values() for n in numbers(item)]
    if isinstance(value, list):
        return [n for item in value for n in numbers(item)]
    return [value] if isinstance(value, int | float) and not isinstance(value, bool) else []


def test_the_json_of_a_weighing_has_the_promised_names_and_no_others(run: Run, dossier: Path) -> None:
    # Other programs rely on these names; files written today must be readable in ten years.
    result = run("weigh", dossier, "--json", "--seed", 3)
    assert result.exit_code == 0 and result.stderr == ""
    found = json.loads(result.stdout)
    assert list(found) == ["candidate", "body", "seed", "tables", "belief", "bill", "resale", "ceiling", "asks", "remarks"]
    assert (found["candidate"], found["body"], found["seed"]) == ("Tamarack", "roadster", 3)
    assert all(set(zone) == CONDITIONS for zone in found["belief"].values())
    assert (
        set(found["bill"]) == {"currency", "mean", "p10", "p50", "p80", "p90", "drivers"} and found["bill"]["currency"] == "USD"
    )
    assert all(set(driver) == {"zone", "share"} for driver in found["bill"]["drivers"])
    assert set(found["resale"]) == {"p10", "p50", "p90"}
    assert set(found["ceiling"]) == {"amount", "expected_profit", "p_loss", "because"}
    assert found["ceiling"]["because"] in ("margin", "chance of loss", "nothing pays")
    assert found["asks"] and all(set(ask) == {"kind", "zone", "worth", "cost", "text"} for ask in found["asks"])
    assert all(set(remark) == {"code", "about", "text"} for remark in found["remarks"])


def test_the_figures_of_a_weighing_are_finite_in_order_and_each_belief_sums_to_one(run: Run, dossier: Path) -> None:
    found = json.loads(run("weigh", dossier, "--json").stdout)
    assert all(math.isfinite(number) for number in numbers(found))
    assert max(abs(sum(zone.values()) - 1) for zone in found["belief"].values()) < 1e-9
    bill, resale = found["bill"], found["resale"]
    assert 0 <= bill["p10"] <= bill["p50"] <= bill["p80"] <= bill["p90"]
    assert resale["p10"] <= resale["p50"] <= resale["p90"]
    assert sum(driver["share"] for driver in bill["drivers"]) == pytest.approx(1)
    net = [ask["worth"] - ask["cost"] for ask in found["asks"] if ask["worth"] > 0]
    assert net == sorted(net, reverse=True) and all(ask["worth"] >= 0 for ask in found["asks"])


def test_the_same_dossier_day_and_seed_give_the_same_bytes_and_another_seed_does_not(run: Run, dossier: Path) -> None:
    first, again, other = (run("weigh", dossier, "--json", "--seed", seed).stdout for seed in (1, 1, 2))
    assert first == again != other


def test_the_day_of_weighing_can_be_given_and_moves_the_belief(run: Run, dossier: Path) -> None:
    now, later = (json.loads(run("weigh", dossier, "--json", "--today", day).stdout) for day in ("2026-11-25", "2046-11-25"))
    worse = [sum(later["belief"][z][c] for c in ("pitted", "holed")) for z in later["belief"]]
    before = [sum(now["belief"][z][c] for c in ("pitted", "holed")) for z in now["belief"]]
    assert sum(worse) > sum(before)


def test_what_is_printed_of_a_weighing_names_ceiling_bill_metal_asks_and_cautions(run: Run, dossier: Path) -> None:
    result = run("weigh", dossier)
    assert result.exit_code == 0
    parts = [
        "Tamarack",
        "The ceiling",
        "What binds",
        "Money",
        "The bill",
        "The metal",
        "What to ask for",
        "Cautions",
        "Recompute with",
    ]
    places = [result.stdout.index(part) for part in parts]
    assert places == sorted(places)
    assert "not an appraisal" in result.stdout and "seed 0" in result.stdout and "the maker's own form" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_the_printed_ceiling_is_never_above_the_exact_one_and_less_than_fifty_below(run: Run, dossier: Path) -> None:
    exact = json.loads(run("weigh", dossier, "--json").stdout)["ceiling"]["amount"]
    line = next(line for line in run("weigh", dossier).stdout.splitlines() if " USD " in line)
    shown = float(line.split(" USD ")[0].replace(",", ""))
    assert 0 <= exact - shown < 50 and shown % 50 == 0


def test_a_report_is_written_with_the_ceiling_the_cautions_the_seed_and_the_table_version(
    run: Run, dossier: Path, tmp_path: Path
) -> None:
    target = tmp_path / "tamarack.pdf"
    result = run("weigh", dossier, "--report", target, "--seed", 7)
    assert result.exit_code == 0 and f"Report: {target}" in result.stdout
    found = json.loads(run("weigh", dossier, "--json", "--seed", 7).stdout)
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(target.read_bytes())).pages).split())
    shown = f"{int(found['ceiling']['amount'] // 50 * 50):,}"
    assert shown in text and "seed 7" in text and found["tables"] in text
    assert "not a roadworthiness or safety inspection" in text and "Never under a vehicle on a jack" in text
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_a_zone_is_explained_before_and_after_with_what_moved_it(run: Run, dossier: Path, zone: str) -> None:
    result = run("weigh", dossier, "--zone", zone)
    assert result.exit_code == 0 and "What moved it" in result.stdout and "bubbling" in result.stdout
    found = json.loads(run("weigh", dossier, "--zone", zone, "--json").stdout)
    before, after = (sum(found[when][c] for c in ("pitted", "holed", "masked")) for when in ("before", "after"))
    assert after > before and found["bad"] == pytest.approx(after)
    strongest = found["reasons"][0]
    assert strongest["moved"] > 0 and strongest["where"] == "candidate.toml: finding 1"


def test_asks_prints_the_list_the_best_together_and_one_message(run: Run, dossier: Path) -> None:
    found = json.loads(run("asks", dossier, "--count", 3, "--json").stdout)
    best = found["best"]
    assert len(best["asks"]) <= 3 and len(best["worth"]) == len(best["asks"]) and best["worth"] == sorted(best["worth"])
    assert all(ask["text"] in found["message"] for ask in best["asks"])
    result = run("asks", dossier, "--count", 3)
    assert result.exit_code == 0 and "What to ask for" in result.stdout and ("To send" in result.stdout) == bool(best["asks"])


def test_an_ask_that_sends_someone_underneath_carries_the_caution(run: Run, dossier: Path) -> None:
    found = json.loads(run("asks", dossier, "--json").stdout)
    visit = next(ask for ask in found["asks"] if ask["kind"] == "visit")
    assert "Never under a vehicle on a jack" in visit["caution"]


def test_a_number_with_a_right_check_digit_passes_and_a_misread_one_is_named(run: Run) -> None:
    # 1M8GDM9AXKP042788 is the worked example of 49 CFR 565 that is passed on everywhere; its check digit is X.
    assert "check digit right" in run("number", "1M8GDM9AXKP042788").stdout
    found = json.loads(run("number", "1M8GDM9AXKPO42788", "--json", "--model-year", 1989).stdout)
    assert found["excluded"] == [[12, "O"]] and found["passes"] is False


def test_doctor_finds_everything_here_and_says_which_tables(run: Run) -> None:
    result = run("doctor", "--json")
    found = json.loads(result.stdout)
    assert result.exit_code == 0 and found["ok"]
    checks = {check["name"]: check["found"] for check in found["checks"]}
    assert {"python", "numpy", "typst", "tables", "body plans", "places", "reports", "terminal"} <= set(checks)
    assert weldworth.__version__ == checks["weldworth"] and "Detroit" in checks["places"]
    assert "Everything that weldworth needs is there." in run("doctor").stdout


def test_doctor_leaves_with_one_and_the_remedy_where_a_library_is_missing(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("weldworth.cli.doctor.LIBRARIES", ("numpy", "no-such-library"))
    result = run("doctor")
    assert result.exit_code == 1 and "MISSING" in result.stdout and "install no-such-library" in result.stdout


def test_doctor_looks_for_the_libraries_that_the_project_asks_for() -> None:
    from weldworth.cli.doctor import LIBRARIES

    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    assert {line.split(">")[0].split("[")[0] for line in wanted} == set(LIBRARIES)


def test_the_version_is_that_of_the_project(run: Run) -> None:
    version = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    assert run("--version").stdout == f"weldworth {version}\n" == f"weldworth {weldworth.__version__}\n"


@pytest.mark.parametrize("name", [each.name or each.callback.__name__ for each in app.registered_commands if each.callback])
def test_every_command_has_a_help_page_and_speaks_json(run: Run, name: str) -> None:
    result = run(name, "--help")
    assert result.exit_code == 0 and "Usage: weldworth" in result.stdout and "--json" in result.stdout


def test_no_command_at_all_shows_the_commands(run: Run) -> None:
    result = run()
    assert result.exit_code == 0 and all(name in result.stdout for name in ("weigh", "asks", "number", "demo", "doctor"))


def piped(dossier: Path, **environment: str) -> bytes:
    """Standard output of a real weighing into a pipe."""
    known = {name: value for name, value in os.environ.items() if name not in ("FORCE_COLOR", "COLUMNS")}
    known |= {"PYTHONPATH": str(ROOT / "src"), "WELDWORTH_TODAY": "2026-11-25", "TERM": "xterm-256color", **environment}
    command = [sys.executable, "-m", "weldworth", "weigh", str(dossier)]
    done = subprocess.run(command, capture_output=True, env=known, check=False)
    assert done.returncode == 0 and done.stderr == b"", done.stderr
    return done.stdout


def test_in_a_pipe_there_are_no_escape_codes_and_no_blanks_at_the_ends(dossier: Path) -> None:
    text = piped(dossier, PYTHONIOENCODING="utf-8").decode("utf-8")
    assert "\x1b" not in text and DRAWN.middle in text
    assert [line for line in text.splitlines() if line != line.rstrip()] == []


def test_where_the_encoding_has_no_drawn_characters_plain_ones_are_used(dossier: Path) -> None:
    text = piped(dossier, PYTHONIOENCODING="ascii").decode("ascii")
    assert "/--" in text


def test_escape_codes_in_a_name_never_reach_the_terminal(run: Run, dossier: Path) -> None:
    path = dossier / "candidate.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('"Tamarack"', '"Tam\\u001b[31marack [red]"'), encoding="utf-8")
    result = run("weigh", dossier)
    assert result.exit_code == 0 and "\x1b" not in result.stdout and "[red]" in result.stdout
