"""Export profiles: what each mistake in one is answered with, and which profiles a laboratory has."""

import pytest
from intake_cases import THICKNESS, profile

from pipelines.errors import SettingsError
from pipelines.intake.profiles import load_profile, load_profiles, target_columns
from schemas.records import KINDS

NOTE = 'note = "Note"'
PLACE = 'position_no = "Place"'
UNIT = 'unit = "um"'
FROM = '{ from = "Thickness", unit = "um" }'
TIME = 'tested_at = { from = "T", format = "%d.%m.%Y" }'


def preamble_value(text: str) -> str:
    return f"[preamble.values]\n{text}\n\n[columns]"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        # keys that do not exist, with the nearest that does
        ("record =", "recrod =", "recrod: unknown key; did you mean 'record'? Known: block, columns, dialect, "),
        ("record =", "recrod =", "record: is missing"),
        ("delimiter", "delimeter", "dialect.delimeter: unknown key; did you mean 'delimiter'?"),
        ("header =", "heder =", "recognise.heder: unknown key; did you mean 'header'? Known: header, name."),
        (UNIT, 'units = "um"', "columns.thickness.units: unknown key; did you mean 'unit'?"),
        ("[columns]", preamble_value('operator = { lines = "(x)" }'), "preamble.values.operator.lines: unknown "
         "key; did you mean 'line'?"),
        # kinds and quantities
        ('= "thickness"', '= "thikness"', "record: unknown kind 'thikness'; did you mean 'thickness'?"),
        (NOTE, 'nots = "Note"', "columns.nots: thickness records have no such quantity; did you mean 'note'?"),
        (NOTE, 'tester = "T"', "columns.tester: thickness records have no such quantity"),
        (PLACE, "", "columns: thickness records need 'position_no'; name its header cell, or give a constant"),
        ('tester = "micrometer"\n', "", "tester: name the tester of these results"),
        # units
        (", " + UNIT, "", "columns.thickness: add the unit of the export, for example unit = 'um'"),
        (UNIT, 'unit = "g"', "columns.thickness: unit: 'g' cannot be converted to 'um' ([mass] to"),
        (UNIT, 'unit = "umm"', "columns.thickness: unit: 'umm' is not a known unit"),
        (UNIT, 'unit = "pt"', "columns.thickness: unit: 'pt': pt may be a point or a pint; write point or mil"),
        (NOTE, 'note = { from = "Note", unit = "um" }', "columns.note: note has no unit"),
        (PLACE, 'position_no = { from = "Place", unit = "%" }', "columns.position_no: position_no has no unit"),
        # regular expressions
        ("preamble = 0", 'preamble = "("', "dialect.preamble: '(' is not a regular expression: missing ),"),
        ("preamble = 0", "preamble = -1", "dialect.preamble: the number of lines must not be negative (given: -1)"),
        ("preamble = 0", 'footer = "["', "dialect.footer: '[' is not a regular expression"),
        (NOTE, 'note = { from = "Note", pattern = "x" }', "columns.note.pattern: 'x' needs exactly one group (…)"),
        (NOTE, 'note = { from = "Note", pattern = "(x" }', "columns.note.pattern: '(x' is not a regular expression"),
        # times
        (NOTE, 'tested_at = "T"', "columns.tested_at: a time needs a format, for example '%d.%m.%Y %H:%M:%S'"),
        (NOTE, TIME.replace("}", ', zone = "Mars" }'), "columns.tested_at.zone: 'Mars' is not a known time zone"),
        (NOTE, TIME.replace("%d.%m.%Y", "%H:%M"), "format: '%H:%M' lacks the day, the month or the year"),
        (NOTE, TIME.replace("%d.%m.%Y", "mixed"), "format: 'mixed' lacks the day, the month or the year"),
        (NOTE, TIME.replace("%d.%m.%Y", "%d.%m."), "format: '%d.%m.' lacks the day, the month or the year"),
        (NOTE, TIME.replace("%Y", "%Y %I:%M"), "format: '%d.%m.%Y %I:%M' has 12-hour hours (%I) and needs %p"),
        (NOTE, TIME.replace("%Y", "%Y %H:%M %Z"), "format: %Z is not allowed; allowed are "),
        (NOTE, TIME.replace("%Y", "%Q"), "format: %Q is not allowed; allowed are "),
        (NOTE, 'note = { from = "Note", format = "%d" }', "columns.note: format, zone and language are only for times"),
        # sources
        (NOTE, 'note = { from = "Note", value = "x" }', "columns.note: give one of from (header cells), template (of "),
        (NOTE, 'note = { join = "-" }', "columns.note: give one of from (header cells), template (of parts), value"),
        (NOTE, "note = { from = [] }", "columns.note.from: must not be empty"),
        (FROM, '{ value = "90,5", unit = "um" }', "columns.thickness: value: '90,5' is not a number; write it without"),
        (FROM, '{ value = nan, unit = "um" }', "columns.thickness: value: nan is not a number"),
        ("value = 1 ", "value = 1.5 ", "columns.sheets_in_pack: value: 1.5 is not a whole number"),
        ("value = 1 ", 'value = "1" ', "columns.sheets_in_pack: value: '1' is not a whole number"),
        (NOTE, 'note = { count_within = ["sheet_id"] }', "columns.note: count_within numbers rows; use it"),
        (PLACE, 'position_no = { count_within = ["thickness"] }', "count_within: 'thickness' is not a text quantity"),
        (PLACE, 'position_no = { count_within = ["operator"] }', "count_within: this profile does not read 'operator'"),
        # codes
        (UNIT, UNIT + ', values = { a = ["b"] }', "columns.thickness: values are only for codes; this is a number or"),
        (NOTE, 'note = { from = "Note", values = { a = ["x"], b = ["x"] } }', "values: 'x' is listed more than once"),
        # the file as a whole
        ("[columns]", preamble_value('note = { line = "(x)" }'), "columns.note: preamble.values gives it too"),
        ("[columns]", preamble_value('operator = { line = "(x)", name = "(x)" }'), "preamble.values.operator: give "
         "either line (a pattern for the lines above the table) or name (a pattern for the file name)"),
        ('"utf-8"', '"utf-9"', "dialect: 'utf-9' is not an encoding; write for example 'cp1252'"),
        ('"utf-8"', '"idna"', "dialect: 'idna' is not an encoding; write for example 'cp1252'"),
        ('";"', '":"', "dialect.delimiter: Input should be ';', ',', '\\t' or '|' (given: ':')"),
        ('decimal = ","', 'decimal = ","\nthousands = ","', "dialect: decimal and thousands are both ','"),
        ('decimal = ","', 'thousands = ","', "dialect: thousands needs decimal as well"),
        ("preamble = 0", 'units_row = "yes"', "dialect.units_row: Input should be a valid boolean (given: 'yes')"),
        ('["Sheet", "Thickness"]', "[]", "recognise.header: must not be empty"),
        ("[columns]", "[columns", "is not valid TOML: Expected ']' at the end of a table declaration (at line 14"),
    ],
)  # fmt: skip
def test_a_mistake_is_named_with_the_file_and_the_key(old, new, message):
    assert old in THICKNESS
    with pytest.raises(SettingsError) as error:
        profile(THICKNESS.replace(old, new))
    complaints = [line.partition("thickness.toml: ")[2] for line in error.value.what.split("\n")]
    assert any(message in complaint for complaint in complaints), complaints
    assert all(complaints)


def test_a_log_has_no_tester():
    text = """
record = "pressing"
tester = "press"
[recognise]
header = ["Sheet", "Pass"]
[columns]
sheet_id = "Sheet"
pass_no = "Pass"
"""
    with pytest.raises(SettingsError, match="tester: pressing records have no tester; remove this key"):
        profile(text)


def test_codes_must_be_those_of_the_record():
    text = """
record = "tank"
[recognise]
header = ["Tank"]
[columns]
tank = "Tank"
happened_at = { from = "At", format = "%Y-%m-%d" }
event = { from = "Done", values = { fill = ["x"] } }
"""
    with pytest.raises(SettingsError, match=r"values\.fill: unknown code; did you mean 'filled'\? Known"):
        profile(text)


def test_all_mistakes_are_named_at_once():
    with pytest.raises(SettingsError) as error:
        profile(THICKNESS.replace(UNIT, 'unit = "g"').replace(PLACE, "").replace(NOTE, 'nots = "Note"'))
    assert len(error.value.what.split("\n")) == 3


@pytest.mark.parametrize(
    "text", ["%d.%m.%Y", "%Y-%m-%dT%H:%M:%S%z", "%d %b %y %I:%M %p", "%j/%Y", "%%%Y%m%d"]
)
def test_formats_that_tell_a_day(text):
    assert (
        profile(THICKNESS.replace(NOTE, TIME.replace("%d.%m.%Y", text))).text.columns["tested_at"].format
        == text
    )


def test_a_laboratorys_own_profile_wins_by_name_and_others_are_added(tmp_path):
    shipped = {found.name: found for found in load_profiles(None)}
    (tmp_path / "thickness-si.toml").write_text(THICKNESS, encoding="utf-8")
    (tmp_path / "mine.toml").write_text(THICKNESS, encoding="utf-8-sig")
    (tmp_path / "notes.txt").write_text("no profile", encoding="utf-8")
    found = {found.name: found for found in load_profiles(tmp_path)}
    assert found.keys() == shipped.keys() | {"mine"}
    assert found["thickness-si"].text.tester == "micrometer"
    assert found["thickness-us"] == shipped["thickness-us"]
    assert list(found) == sorted(found)


def test_every_faulty_profile_of_a_laboratory_is_named(tmp_path):
    for name in ("one", "two"):
        (tmp_path / f"{name}.toml").write_text(THICKNESS.replace(UNIT, 'unit = "g"'), encoding="utf-8")
    with pytest.raises(SettingsError) as error:
        load_profiles(tmp_path)
    assert "one.toml: columns.thickness" in error.value.what
    assert "two.toml: columns.thickness" in error.value.what
    assert error.value.remedy == "Correct the profile and run again; nothing was changed."


def test_a_laboratory_without_a_folder_of_profiles_has_the_shipped_ones(tmp_path):
    assert load_profiles(tmp_path / "exports") == load_profiles(None)


def test_a_profile_that_is_no_utf8(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes("# Größe".encode("cp1252"))
    with pytest.raises(SettingsError, match="is not UTF-8 text"):
        load_profile(path)


def test_the_fingerprint_changes_with_the_text():
    assert profile().fingerprint == profile().fingerprint
    assert profile().fingerprint != profile(THICKNESS + "# a remark\n").fingerprint


@pytest.mark.parametrize("kind", KINDS)
def test_quantities_are_columns_without_their_units_ending(kind):
    for quantity, target in target_columns(kind).items():
        assert target.column.startswith(quantity)
        assert not quantity.endswith(("_mm", "_um", "_utc", "_pct", "_g", "_n"))
