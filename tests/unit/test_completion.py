"""What the prompt suggests."""

import pytest

from pipelines.completion import suggestions
from pipelines.warehouse.catalogue import Catalogue, Macro

CATALOGUE = Catalogue(
    tables={
        "sheet": "One row per sheet.",
        "sheet_property": "One row per property.",
        "trial_point": "One row per point.",
        "records.tensile": "One row per piece.",
        "records.thickness": "One row per reading.",
    },
    columns={
        "sheet": {
            "sheet_id": "Number.",
            "tensile_index_md_nm_g": "Index.\nUnit: N.m/g.",
            "trial": "Its trial.",
        },
        "sheet_property": {"sheet_id": "Number.", "value": "The mean."},
        "trial_point": {"trial": "The trial.", "n_sheets": "How many."},
        "records.tensile": {"max_force_n": "Force. Unit: N."},
        "records.thickness": {"thickness_um": "Reading. Unit: um."},
    },
    macros=(Macro("tensile_index_nm_g", ("strength", "grammage"), "Strength over grammage."),),
    functions=("tensile_index_nm_g", "median"),
)


def texts(before, after=""):
    return [found.text for found in suggestions(CATALOGUE, before, after)]


@pytest.mark.parametrize(
    ("before", "after", "first"),
    [
        ("SELECT t", " FROM sheet", ["tensile_index_md_nm_g", "trial", "trial_point", "tensile_index_nm_g"]),
        ("SELECT t", "", ["trial_point", "tensile_index_nm_g", "tables", "then", "true"]),
        ("FROM trial_point WHERE tri", "", ["trial", "trial_point"]),
        ("FROM ", "", ["sheet", "sheet_property", "trial_point", "records.tensile"]),
        ("FROM sheet JOIN tri", "", ["trial_point"]),
        ("SELECT s.", " FROM sheet AS s", ["sheet_id", "tensile_index_md_nm_g", "trial"]),
        ("SELECT sheet.tri", " FROM sheet", ["trial"]),
        ("FROM records.", "", ["tensile", "thickness"]),
        ("FROM records.th", "", ["thickness"]),
        ("SELECT records.tensile.", " FROM records.tensile", ["max_force_n"]),
        ("SELECT force", " FROM records.tensile", ["max_force_n"]),
        ("SELECT thickn", "", ["thickness_um"]),
        ("columns tri", "", ["trial_point"]),
        ("SEL", "", ["SELECT"]),
        ("sel", "", ["select"]),
    ],
)
def test_the_likeliest_comes_first(before, after, first):
    assert texts(before, after)[: len(first)] == first


@pytest.mark.parametrize("before", ["", "SELECT ", "SELECT 'tri", "SELECT x.", "SELECT zzz", "SELECT 1 "])
def test_nothing_is_suggested_where_nothing_is_known(before):
    assert texts(before) == []


def test_a_whole_word_is_not_suggested_again():
    assert "sheet" not in texts("FROM sheet")


def test_every_suggestion_has_its_meaning_on_one_line():
    found = {
        suggestion.text: suggestion for suggestion in suggestions(CATALOGUE, "SELECT tens", " FROM sheet")
    }
    assert found["tensile_index_md_nm_g"].meaning == "Index. Unit: N.m/g."
    assert found["tensile_index_md_nm_g"].replaces == 4
    assert (
        found["tensile_index_nm_g"].meaning
        == "tensile_index_nm_g(strength, grammage): Strength over grammage."
    )


def test_a_column_of_another_table_is_shown_with_its_table():
    (found,) = suggestions(CATALOGUE, "SELECT max_f")
    assert (found.text, found.meaning) == ("max_force_n", "records.tensile: Force. Unit: N.")
