"""The listing of published columns: published columns are kept, and additions are listed."""

import tomllib
from pathlib import Path

import pytest

from pipelines.dictionary import listing
from pipelines.dictionary.declared import Column, Table, published_tables
from pipelines.dictionary.history import FOLDER, Change, changes, contract_version, versions
from pipelines.dictionary.listing import (
    COMMAND,
    REMEDY,
    additions,
    as_toml,
    breaches,
    entry,
    listed,
    promised,
)


def column_of(name, sql_type="DOUBLE", unit="g", nullable=False):
    return Column(name, sql_type, nullable, unit, "Words.", None, (), {})


def table_of(name, *columns):
    return Table("main", name, "One row per thing.", "", 1, columns, ())


BEFORE = promised([table_of("thing", column_of("mass_g"), column_of("name", "VARCHAR", None, True))])


def after(*columns):
    return promised([table_of("thing", *columns)])


# What is published now


def test_published_columns_still_exist():
    broken = breaches(listed(), promised(published_tables()), changes())
    assert not broken, "\n".join([*broken, REMEDY])


def test_all_that_is_published_is_listed():
    assert promised(published_tables()) == listed(), (
        f"Published tables have changed in a way that breaks no query. List it, and commit what that writes: {COMMAND}"
    )


def test_the_listing_equals_the_output_of_its_command():
    assert (FOLDER / "published.toml").read_text(encoding="utf-8") == as_toml(listed())


def test_every_change_is_of_a_published_or_retired_table():
    history = changes()
    retired = {change.table for change in history if change.retired}
    assert {change.table for change in history} - retired <= set(listed())
    assert not retired & set(listed())
    assert [change.contract for change in history] == sorted(change.contract for change in history)
    assert all(change.note.endswith(".") for change in history)


# What breaks a promise


@pytest.mark.parametrize(
    ("columns", "sentence"),
    [
        ([column_of("mass_g")], "The published column thing.name is gone."),
        (
            [column_of("mass_g", "BIGINT"), column_of("name", "VARCHAR", None, True)],
            "The type of the published column thing.mass_g was DOUBLE and is BIGINT.",
        ),
        (
            [column_of("mass_g", unit="kg"), column_of("name", "VARCHAR", None, True)],
            "The unit of the published column thing.mass_g was g and is kg.",
        ),
        (
            [column_of("mass_g", nullable=True), column_of("name", "VARCHAR", None, True)],
            "The published column thing.mass_g was never missing and may be now.",
        ),
    ],
)
def test_breaking_changes_are_refused(columns, sentence):
    assert breaches(BEFORE, after(*columns)) == [sentence]


def test_a_table_that_is_gone_is_refused_until_it_is_retired():
    assert breaches(BEFORE, {}) == ["The published table thing is gone."]
    assert breaches(BEFORE, {}, [Change(2, "thing", 1, "Use matter.", retired=True)]) == []
    assert breaches(BEFORE, {}, [Change(2, "other", 1, "Use matter.", retired=True)])


def test_compatible_changes_are_accepted():
    now = after(
        column_of("new_g", nullable=True),
        column_of("mass_g"),
        column_of("name", "VARCHAR", None, nullable=False),
    )
    assert breaches(BEFORE, now | promised([table_of("other", column_of("mass_g"))])) == []


# What is added


def test_additions_are_listed_with_their_versions():
    now = after(
        column_of("mass_g"), column_of("name", "VARCHAR", None, True), column_of("a_g"), column_of("b_g")
    )
    now = now | promised([table_of("other", column_of("mass_g"))])
    assert additions(BEFORE, now) == [
        Change(2, "thing", 2, "New columns: a_g, b_g."),
        Change(2, "other", 1, "New table."),
    ]
    earlier = [Change(2, "thing", 2, "New column: c_g."), Change(3, "thing", 3, "New column: d_g.")]
    assert additions(BEFORE, now, earlier)[0] == Change(4, "thing", 4, "New columns: a_g, b_g.")
    assert additions(now, now, earlier) == []


def test_versions_follow_from_the_changes():
    history = [Change(2, "thing", 2, "A."), Change(2, "other", 1, "B."), Change(3, "thing", 3, "C.")]
    assert versions(history) == {"thing": 3, "other": 1}
    assert contract_version(history) == 3
    assert contract_version([]) == 1


def test_listing_and_changes_are_read_as_they_are_written():
    assert tomllib.loads(as_toml(BEFORE)) == BEFORE
    change = Change(2, "thing", 2, "New column: a_g.")
    assert Change(**tomllib.loads(entry(change))["change"][0]) == change


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The files of schemas/marts as they were before two columns and a table came."""
    before = {table: dict(columns) for table, columns in promised(published_tables()).items()}
    del before["sheet"]["trial"], before["sheet"]["moisture_pct"], before["tank_fill"]
    (tmp_path / "published.toml").write_text(as_toml(before), encoding="utf-8")
    (tmp_path / "changes.toml").write_text("# What changed.\n", encoding="utf-8")
    return tmp_path


def test_the_command_adds_new_columns_and_reports_them(folder, capsys):
    assert listing.update(folder) == 0
    assert listed(folder) == promised(published_tables())
    assert changes(folder) == (
        Change(2, "tank_fill", 1, "New table."),
        Change(2, "sheet", 2, "New columns: trial, moisture_pct."),
    )
    assert "sheet, version 2: New columns: trial, moisture_pct." in capsys.readouterr().out
    written = {path: path.read_bytes() for path in folder.iterdir()}
    assert listing.update(folder) == 0
    assert {path: path.read_bytes() for path in folder.iterdir()} == written


def test_the_command_refuses_a_broken_promise_and_writes_nothing(folder, capsys):
    path = folder / "published.toml"
    path.write_text(path.read_text() + '\n[gone]\nname = { type = "VARCHAR", nullable = false }\n')
    before = {path: path.read_bytes() for path in folder.iterdir()}
    assert listing.update(folder) == 1
    assert "The published table gone is gone." in capsys.readouterr().err
    assert {path: path.read_bytes() for path in folder.iterdir()} == before
    with (folder / "changes.toml").open("a") as stream:
        stream.write(entry(Change(2, "gone", 1, "Use sheet.")) + "retired = true\n")
    assert listing.update(folder) == 0
    assert "gone" not in listed(folder)
