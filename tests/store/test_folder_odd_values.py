"""Whatever stands in a dossier folder, its reader tells what is wrong and never breaks."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from written import FULL, a_folder, read, refused

from weldworth.core.errors import BadInput


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=st.text(max_size=200))
def test_no_text_brings_the_reader_down(text: str, tmp_path: Path) -> None:
    (tmp_path / "candidate.toml").write_text(text, encoding="utf-8", errors="replace")
    with pytest.raises(BadInput):
        read(tmp_path)


ODD = """true|nan|-inf|1e400|[]|[[]]|{}|{ a = 1 }|0|-1|''|2026-11-25|0001-01-01|9999-12-31T23:59:59Z|23:59:59|'2026-13-45'
'0000-00'|[1, '2', nan, true]|1900|'9999'|'12:00'|"\\n"|'"|'pictures/'|"""
JUNK = st.one_of(
    st.sampled_from([*ODD.replace("\n", "|").split("|"), "1" + "0" * 300]),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=90).map(
        lambda s: f"'{s.replace(chr(39), '')}'"
    ),
    st.integers(-(10**20), 10**20).map(str),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
)
LINES = [line for line in FULL.splitlines() if " = " in line]


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(line=st.sampled_from(LINES), value=JUNK)
def test_no_value_at_any_key_brings_the_reader_down(line: str, value: str, tmp_path: Path) -> None:
    text = FULL.replace(line, f"{line.split(' = ')[0]} = {value}", 1)
    folder = a_folder(tmp_path, text, pictures=("left/corner.JPG",))
    try:
        tomllib.loads(text)
        read(folder)
    except tomllib.TOMLDecodeError:
        refused(folder)
    except BadInput as error:
        assert all(
            str(problem).startswith("candidate.toml") and len(str(problem).splitlines()) == 1 for problem in error.problems
        )
