"""The Markdown dictionary: every table, column, formula and unit, readable and whole."""

import re

import pytest

from pipelines.dictionary.declared import Column, Formula, Table, published_tables, record_tables
from pipelines.dictionary.history import Change
from pipelines.dictionary.markdown import dictionary
from pipelines.dictionary.wording import limits_text, pieces
from pipelines.warehouse.statements import formulas
from schemas.units import SUFFIX_OF_UNIT

TABLES = (*published_tables(), *record_tables())


@pytest.fixture(scope="module")
def text():
    return dictionary(published_tables(), record_tables(), formulas(), [])


def section(text, heading):
    """Return what stands below a heading, up to the next of its level or above."""
    level = re.search(rf"^(#+) {re.escape(heading)}$", text, re.M)[1]
    return re.search(
        rf"^{level} {re.escape(heading)}$\n(.*?)(?=^#{{1,{len(level)}}} |\Z)", text, re.M | re.S
    )[1]


def rows(part):
    """Return the cells of a section's table, without head and rule."""
    lines = [line for line in part.splitlines() if line.startswith("|")][2:]
    return [[cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]] for line in lines]


def plain(cell):
    return re.sub(r"\\(?=[\\`*<|\[])", "", cell.replace("`", ""))


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.full_name)
def test_every_column_is_listed_below_its_table(text, table):
    part = section(text, table.full_name)
    assert plain(table.grain) in plain(part)
    found = rows(part)
    assert {len(cells) for cells in found} == {7}
    assert [plain(cells[0]) for cells in found] == [column.name for column in table.columns]
    assert [plain(cells[4]) for cells in found] == [column.description for column in table.columns]
    assert [cells[3] == "yes" for cells in found] == [column.nullable for column in table.columns]
    assert [plain(cells[6]) for cells in found] == [column.source or "" for column in table.columns]


def test_every_formula_is_listed(text):
    found = rows(section(text, "Formulas"))
    assert [plain(cells[0]) for cells in found] == [formula.signature for formula in formulas()]
    assert [plain(cells[1]) for cells in found] == [formula.text for formula in formulas()]


def test_every_unit_is_listed(text):
    found = rows(section(text, "Units"))
    assert [plain(cells[0]) for cells in found] == list(SUFFIX_OF_UNIT)
    assert all(cells[2] for cells in found)


def test_every_link_leads_to_a_heading(text):
    headings = re.findall(r"^#+ (.*)$", text, re.M)
    anchors = [heading.lower().replace(" ", "-").replace(".", "") for heading in headings]
    assert len(set(anchors)) == len(anchors)
    links = re.findall(r"\]\(#([^)]*)\)", text)
    assert set(links) <= set(anchors)
    assert len(set(links)) >= len(TABLES)


def test_signs_of_markdown_stay_text():
    column = Column("a", "VARCHAR", True, None, "a|b *c* <d> [e](f) grammage_g_m2.", None, ("x|y",), {})
    table = Table("main", "thing", "One row per thing.", "", 1, (column,), ())
    formula = Formula("f", ("x",), "Gives a*b*c.", "definition")
    part = section(dictionary([table], [], [formula], []), "thing")
    assert r"a\|b \*c\* \<d> \[e](f) `grammage_g_m2`." in part
    assert len(rows(part)[0]) == 7


def test_changes_are_listed_newest_first():
    history = [
        Change(2, "sheet", 2, "New column: a_g."),
        Change(3, "old_sheet", 1, "Use sheet instead.", retired=True),
    ]
    part = section(dictionary([], [], [], history), "Changes")
    assert part.strip().splitlines() == [
        "- Version 3: `old_sheet` is no longer published. Use sheet instead.",
        "- Version 2: `sheet`, version 2. New column: `a_g`.",
    ]
    assert "None yet" in section(dictionary([], [], [], []), "Changes")


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({}, ""),
        ({"exclusiveMinimum": 0, "maximum": 50_000}, "> 0, ≤ 50000"),
        ({"minimum": 0.5, "exclusiveMaximum": 1}, "≥ 0.5, < 1"),
        ({"minLength": 1, "maxLength": 80}, "1 to 80 characters"),
        ({"maxLength": 80}, "0 to 80 characters"),
    ],
)
def test_a_range_is_put_into_words(limits, words):
    assert limits_text(Column("a", "DOUBLE", True, None, "Words.", None, (), limits)) == words


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("Basis that grammage_basis names.", ["grammage_basis"]),
        ("with _estimated behind it", ["_estimated"]),
        ("as bits that value.uncertainty_part names", ["value.uncertainty_part"]),
        ("Plain words, 9.80665 m/s2 and ISO 1924-3.", []),
        ("n_left_out; s.", ["n_left_out"]),
    ],
)
def test_names_are_distinguished_from_words(text, names):
    assert [piece for piece, is_name in pieces(text) if is_name] == names
    assert "".join(piece for piece, _ in pieces(text)) == text
