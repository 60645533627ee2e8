"""Which profile a file belongs to: one, none with the nearest, or several; delimiters and headers that are found."""

import pytest
from intake_cases import THICKNESS, file_of, profile

from pipelines.intake.profile_matching import match_profile, normalise_cell
from pipelines.intake.rejection import FileRejected

BY_NAME = THICKNESS.replace("[recognise]", '[recognise]\nname = "thick_*.csv"')
DETECTED = THICKNESS.replace('encoding = "utf-8"\ndelimiter = ";"\ndecimal = ","\npreamble = 0\n', "")
HEADER = "Sheet;Place;Thickness;Note\n"
ROW = "A;1;90;\n"


def reason(data: str | bytes, *profiles, name="export.csv"):
    content = data if isinstance(data, bytes) else data.encode()
    with pytest.raises(FileRejected) as held:
        match_profile(file_of(content, name), profiles)
    return held.value.rejection


def found(data: str | bytes, *profiles, name="export.csv"):
    content = data if isinstance(data, bytes) else data.encode()
    return match_profile(file_of(content, name), profiles)


def test_one_profile_matches_with_an_explanation():
    other = profile(THICKNESS.replace('"Sheet", "Thickness"', '"Sheet", "Caliper"'), "other")
    recognised = found(HEADER + ROW, other, profile())
    assert recognised.profile.name == "thickness"
    assert (
        recognised.explanation
        == "line 1 has the header cells 'Sheet', 'Thickness'; encoding utf-8, delimiter ';'"
    )


def test_no_profile_matches_and_none_is_near():
    found = reason("a;b;c\n1;2;3\n", profile())
    assert found.rule == "no_profile"
    assert found.what == "The file matches no export profile."
    assert "the next run imports the file" in found.remedy


def test_the_nearest_profile_is_named_with_the_missing_cells():
    found = reason("Sheet;Place;Caliper\nA;1;90\n", profile())
    assert found.rule == "no_profile"
    assert found.what.endswith("Nearest: thickness (no header has 'Thickness').")


def test_a_header_on_another_line_is_named():
    found = reason("title\n" + HEADER + ROW, profile())
    assert (
        "Nearest: thickness (the header is on line 2; dialect.preamble expects it on line 1)." in found.what
    )


@pytest.mark.parametrize("name", ["thick_7.csv", "THICK_7.CSV", "week 36/thick_7.csv"])
def test_a_name_is_compared_without_its_folder_and_case(name):
    assert found(HEADER + ROW, profile(BY_NAME), name=name).explanation.startswith(
        "the file name matches 'thick_*.csv'; "
    )


def test_a_name_that_does_not_fit_is_no_match():
    assert (
        reason(HEADER + ROW, profile(BY_NAME), name="thin_7.csv").what
        == "The file matches no export profile."
    )
    undecided = profile(BY_NAME.replace('encoding = "utf-8"\n', ""))
    assert (
        "the header matches, but the file name does not match"
        in reason(HEADER + ROW, undecided, name="thin_7.csv").what
    )


def test_several_profiles_match():
    found = reason(HEADER + ROW, profile(), profile(name="twin"))
    assert found.rule == "several_profiles"
    assert found.what == "The file matches more than one profile: thickness, twin."


def test_the_order_of_profiles_does_not_matter():
    other = profile(THICKNESS.replace('"Sheet", "Thickness"', '"Sheet", "Caliper"'), "other")
    for profiles in ([profile(), other], [other, profile()]):
        assert found(HEADER + ROW, *profiles).profile.name == "thickness"


def test_bytes_that_no_encoding_fits_are_held_for_their_encoding():
    assert reason(b"\x89PNG\r\n\x1a\n\x00\x00", profile()).rule == "encoding"
    assert reason(b"abc\x00def", profile()).rule == "binary"
    assert reason(b"", profile()).rule == "empty_file"
    assert reason(b"", *[]).rule == "empty_file"


def test_a_wrong_encoding_is_reported_when_the_bytes_contain_the_header():
    found = reason(HEADER.encode() + "A;1;90;Größe\n".encode("cp1252"), profile())
    assert found.rule == "no_profile"
    assert "Nearest: thickness (the file is not utf-8: line 2 (byte 36) cannot be decoded)." in found.what


@pytest.mark.parametrize("delimiter", [";", ",", "\t", "|"])
def test_the_delimiter_and_the_headers_line_are_found(delimiter):
    data = f"made, by; the | thickness tester\n\n{HEADER}{ROW}".replace(";", delimiter)
    recognised = found(data, profile(DETECTED))
    assert (recognised.delimiter, recognised.header.line_number) == (delimiter, 3)


def test_an_ambiguous_delimiter_is_not_guessed():
    """Both delimiters give three cells, among them the header's."""
    text = DETECTED.replace('header = ["Sheet", "Thickness"]', 'header = ["Sheet"]').replace(
        '"Thickness", unit', '"Sheet", unit'
    )
    found = reason("Sheet;Place,Note\nSheet,Place;Note\n", profile(text))
    assert "more than one delimiter fits; set dialect.delimiter in the profile" in found.what


def test_header_cells_are_compared_without_line_breaks_and_runs_of_spaces():
    assert normalise_cell(" Thick\nness \u00a0 µm ") == "Thick ness µm"
    header = 'Sheet;Place;"Thick-\nness"\n'
    text = THICKNESS.replace('"Thickness"', '"Thick- ness"')
    recognised = found(header + "A;1;90\n", profile(text))
    assert (recognised.header.line_number, recognised.header.line_count) == (1, 2)


def test_a_header_with_an_unclosed_quote_does_not_match():
    """It would silently read the rows below as part of its last cell."""
    for data in ('Sheet;Place;Thickness;"Note\n' + ROW * 3, 'Sheet;Place;Thickness;"Note\nA;1;90;"good"\n'):
        assert reason(data, profile()).rule == "no_profile"


def test_a_header_beyond_the_first_lines_is_not_looked_for():
    assert found("\n" * 199 + HEADER + ROW, profile(DETECTED)).header.line_number == 200
    assert reason("\n" * 200 + HEADER + ROW, profile(DETECTED)).rule == "no_profile"
