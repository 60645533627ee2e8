"""Values composed from parts, repeated header cells, units and marks within cells, and other forms of times."""

import pytest
from intake_cases import THICKNESS, held, ingest_one, profile

from pipelines.errors import SettingsError

HEADER = "Sheet;Place;Thickness;Note\n"


def changed(*changes: tuple[str, str]):
    text = THICKNESS
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return profile(text)


def timed(time_format: str, extra: str = ""):
    return changed(
        ('note = "Note"', f'tested_at = {{ from = "Note", format = "{time_format}", zone = "UTC"{extra} }}')
    )


COMPOSED = (
    ('sheet_id = "Sheet"', 'sheet_id = { template = "{folder}/{series}-{no}" }'),
    (
        "[columns]",
        "[parts]\nfolder = { name = '^(.+)/' }\nseries = { line = '^Series: (.+)$' }\nno = \"Sheet\"\n\n[columns]",
    ),
    ("preamble = 0", 'preamble = "^Sheet;"'),
)


def test_a_template_composes_a_value_from_folder_preamble_and_cells():
    outcome, frame = ingest_one(
        f"Series: JW\n{HEADER}1;1;90;\n2;1;91;\n", changed(*COMPOSED), name="week 7/a.csv"
    )
    assert held(outcome) == []
    assert frame["sheet_id"].tolist() == ["week 7/JW-1", "week 7/JW-2"]


def test_a_template_with_an_empty_part_holds_the_line():
    outcome, frame = ingest_one(f"Series: JW\n{HEADER};1;90;\n2;1;91;\n", changed(*COMPOSED), name="w/a.csv")
    assert held(outcome)[0] == (3, "partly_missing")
    assert frame["sheet_id"].tolist() == ["w/JW-2"]


def test_a_part_that_the_file_lacks_holds_the_file():
    outcome, _ = ingest_one(f"{HEADER}1;1;90;\n", changed(*COMPOSED), name="w/a.csv")
    assert outcome.rejections[0].what == (
        "parts.series is missing: nothing in the 0 lines above the header matches '^Series: (.+)$'."
    )


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ([(COMPOSED[0][0], 'sheet_id = { template = "{fo}" }'), COMPOSED[1]], "template: parts has no 'fo'"),
        ([(COMPOSED[0][0], 'sheet_id = { template = "S" }')], "needs the names of parts in braces"),
        ([(COMPOSED[0][0], 'sheet_id = { template = "{" }')], "is not a template"),
        (
            [(COMPOSED[0][0], 'sheet_id = { template = "{a}", value = "S" }')],
            "give one of from (header cells), template",
        ),
        ([("[columns]", '[units]\nx = "wombat"\n[columns]')], "units.x: 'wombat' is not a known unit"),
        ([('"Sheet"\n', '{ from = ["Sheet", "Note"], occurrence = 2 }\n')], "occurrence needs from with one"),
        ([("[columns]", '[parts]\na = { value = "x" }\n[columns]')], "parts.a.value: unknown key"),
    ],
)
def test_errors_of_composed_values_are_named(changes, message):
    with pytest.raises(SettingsError) as raised:
        changed(*changes)
    assert message in str(raised.value)


@pytest.mark.parametrize(
    ("cell", "value", "rule"),
    [
        ("90,5 um", 90.5, None),
        ("90,5µm", 90.5, None),
        ("1 090,5 micro", 1090.5, None),
        ("90,5 mm", None, "unit"),
        ("90,5 wombats", None, "number"),
        ("90,5 5", None, "number"),
        ("9O,5", None, "number"),
    ],
)
def test_a_unit_in_the_cell_must_be_the_profiles(cell, value, rule):
    used = changed(
        ('decimal = ","', 'decimal = ","\nthousands = " "'), ("[columns]", '[units]\nmicro = "um"\n[columns]')
    )
    outcome, frame = ingest_one(f"{HEADER}A;1;{cell};\n", used)
    assert held(outcome) == ([(2, rule)] if rule else [])
    assert frame["thickness_um"].tolist() == ([value] if value else [])


def test_units_in_cells_do_not_hide_the_decimal_mark():
    _, frame = ingest_one(f"{HEADER}A;1;90,5 um;\nA;2;91 um;\n", changed(('decimal = ","\n', "")))
    assert frame["thickness_um"].tolist() == [90.5, 91]


def climate(cell: str, dialect: str = ""):
    used = profile(
        'record = "climate"\n[recognise]\nheader = ["Temp"]\n[dialect]\ndelimiter = ";"\ndecimal = ","\n'
        f'{dialect}[columns]\nroom = {{ value = "r" }}\ntemperature = {{ from = "Temp", unit = "degC" }}\n'
        'relative_humidity = { value = 50, unit = "%" }\nread_at = { value = "2026", format = "%Y%d%m" }\n'.replace(
            '"2026"', '"20260101"'
        )
    )
    outcome, frame = ingest_one(f"Temp;x\n{cell};\n", used)
    return held(outcome), frame.get("temperature_c", [])


@pytest.mark.parametrize("cell", ["-5,5", "−5,5", "–5,5", "−5,5 °C", "(5,5)", "( 5,5 )", "(5,5) °C"])
def test_signs_of_negative_numbers(cell):
    reasons, values = climate(cell, "negative_in_parentheses = true\n")
    assert (reasons, list(values)) == ([], [-5.5])


def test_parentheses_are_a_sign_only_where_the_profile_says_so():
    reasons, _ = climate("(5,5)")
    assert reasons == [(2, "number")]


def test_a_typographic_apostrophe_is_a_thousands_mark():
    used = changed(('decimal = ","', 'decimal = ","\nthousands = "\'"'))
    _, frame = ingest_one(f"{HEADER}A;1;1’090,5;\n", used)
    assert frame["thickness_um"].tolist() == [1090.5]


@pytest.mark.parametrize(
    ("time_format", "extra", "cell", "utc"),
    [
        ("epoch", "", "1790000000", "2026-09-21 14:13:20"),
        ("epoch", "", "1790000000.25", "2026-09-21 14:13:20.250000"),
        ("epoch_ms", "", "1790000000250", "2026-09-21 14:13:20.250000"),
        ("%d. %B %Y %H:%M", ', language = "de"', "3. März 2026 10:00", "2026-03-03 10:00:00"),
        ("%d-%b-%Y %H:%M", ', language = "sv"', "03-okt-2026 10:00", "2026-10-03 10:00:00"),
        ("%d %b %Y %H:%M", ', language = "fr"', "3 Août 2026 10:00", "2026-08-03 10:00:00"),
        ("%d. %B %Y %H:%M", ', language = "fi"', "3. lokakuuta 2026 10:00", "2026-10-03 10:00:00"),
    ],
)
def test_forms_of_times(time_format, extra, cell, utc):
    outcome, frame = ingest_one(f"{HEADER}A;1;90;{cell}\n", timed(time_format, extra))
    assert held(outcome) == []
    assert str(frame["tested_at_utc"][0]) == utc


@pytest.mark.parametrize(
    ("time_format", "extra", "cell"),
    [("epoch", "", "12:30"), ("epoch", "", "-1"), ("%d. %B %Y", ', language = "de"', "3. lokakuuta 2026")],
)
def test_a_time_in_another_form_is_on_hold(time_format, extra, cell):
    outcome, _ = ingest_one(f"{HEADER}A;1;90;{cell}\n", timed(time_format, extra))
    assert held(outcome) == [(2, "time")]


def test_a_language_must_be_known():
    with pytest.raises(SettingsError, match="language: 'xx' is not a language code"):
        timed("%d %b %Y", ', language = "xx"')


def test_a_repeated_header_cell_is_read_by_its_occurrence():
    used = changed(
        ('{ from = "Thickness", unit', '{ from = "Thickness", occurrence = 2, unit'),
        ('note = "Note"', 'note = { from = "Thickness", occurrence = 1 }'),
    )
    _, frame = ingest_one("Sheet;Place;Thickness;Thickness\nA;1;7;90\n", used)
    assert frame[["thickness_um", "note"]].iloc[0].tolist() == [90, "7"]
    outcome, _ = ingest_one("Sheet;Place;Thickness;Note\nA;1;7;90\n", used)
    assert held(outcome) == [(None, "missing_column")]
    assert "'Thickness (occurrence 2)'" in outcome.rejections[0].what


@pytest.mark.parametrize(
    ("units", "rule"),
    [("um;%", None), ("%;um", None), ("um;um", "repeated_column"), ("%;%", "repeated_column")],
)
def test_a_repeated_header_cell_is_read_by_its_unit(units, rule):
    used = changed(("preamble = 0", "preamble = 0\nunits_row = true"))
    row = "90;7" if units.startswith("um") else "7;90"
    outcome, frame = ingest_one(f"Sheet;Place;Thickness;Thickness;Note\n;;{units};\nA;1;{row};\n", used)
    assert held(outcome) == ([(None, rule)] if rule else [])
    assert list(frame.get("thickness_um", [])) == ([] if rule else [90])
