"""Tables of business numbers: every row says where it came from, and a broken table is refused by file, line and value."""

from __future__ import annotations

import pytest

from weldworth.core.errors import BadInput
from weldworth.tables import load_tables

HEAD = "sign,worth,basis,source,as_of\n"


def table(tmp_path, text: str):
    (tmp_path / "own.csv").write_text(text, encoding="utf-8")
    return load_tables(tmp_path).rows("own.csv", ("sign", "worth"))


def test_a_shops_own_table_stands_in_for_the_shipped_one_and_changes_the_version(tmp_path):
    shipped = load_tables()
    own = (
        "question,answer,effect,target,what,amount,basis,source,as_of\nowned,under-one,well,,,0.1,measured,own job book,2026-11\n"
    )
    (tmp_path / "answers.csv").write_text(own, encoding="utf-8")
    tables = load_tables(tmp_path)
    columns = ("question", "answer", "effect", "target", "what", "amount")
    assert [row.number("amount") for row in tables.rows("answers.csv", columns)] == [0.1]
    assert len(shipped.rows("answers.csv", columns)) > 10
    assert tables.version != shipped.version
    assert load_tables().version == shipped.version


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("sign,basis,source,as_of\nx,guess,common practice,2026\n", ["own.csv", "column 'worth' is missing"]),
        (HEAD.replace("worth", "worht") + "x,1,guess,me,2026\n", ["'worht' is not known", "nearest: 'worth'"]),
        (HEAD + "x,1,rumour,me,2026\n", ["own.csv line 2", "rumour", "measured, published, quoted, guess"]),
        (HEAD + "x,1,guess,,2026\ny,2,guess, ,2026\n", ["own.csv line 2: source is empty", "own.csv line 3: source is empty"]),
    ],
)
def test_a_table_without_its_basis_or_columns_is_refused(tmp_path, text, words):
    with pytest.raises(BadInput) as refused:
        table(tmp_path, text)
    for word in words:
        assert word in str(refused.value)


@pytest.mark.parametrize("cell", ["", "a lot", "nan", "-1", "2"])
def test_a_cell_that_is_no_number_within_bounds_is_refused_with_its_line(tmp_path, cell):
    row = table(tmp_path, HEAD + f"x,{cell},guess,me,2026\n")[0]
    with pytest.raises(BadInput, match=r"own\.csv line 2: worth is"):
        row.number("worth", low=0, high=1)


def test_a_table_that_is_not_there_and_a_broken_settings_file_are_refused(tmp_path):
    with pytest.raises(BadInput, match=r"nothing\.csv"):
        load_tables().rows("nothing.csv", ("x",))
    (tmp_path / "model.toml").write_text("[sight\nx = 1", encoding="utf-8")
    with pytest.raises(BadInput, match=r"model\.toml: cannot be read as TOML"):
        load_tables(tmp_path).toml("model.toml")
