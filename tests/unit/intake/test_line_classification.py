"""Every line of a file in one account: field counts, broken-off and quoted rows, headers, units rows, remarks."""

import pytest
from intake_cases import THICKNESS, assert_all_is_accounted_for, file_of, held, ingest_one, profile

from pipelines.intake.accounting import LineAccount
from pipelines.intake.ingestion import ingest

HEADER = "Sheet;Place;Thickness;Note\n"
UNITS = profile(THICKNESS.replace("preamble = 0", "preamble = 0\nunits_row = true"))


def lines(frame):
    return frame["line_number"].tolist()


@pytest.mark.parametrize(
    ("row", "rule"),
    [
        ("A;2;90", "field_count"),
        ("A;2;90;;x", "field_count"),
        ("A;2;90;a;b;c", "field_count"),
        ("A", "field_count"),
        ("A,2,90,", "field_count"),
        ("A;2;90;", None),
        ("A;2;90;;;; ;", None),
        ('A;2;90;"x', "open_quote"),
    ],
)
def test_field_counts(row, rule):
    outcome, frame = ingest_one(f"{HEADER}A;1;90;\n{row}\nA;3;90;\n")
    if rule == "open_quote":
        assert lines(frame) == [2]
        assert outcome.account.continuation == 1
    else:
        assert lines(frame) == ([2, 4] if rule else [2, 3, 4])
    assert held(outcome) == ([(3, rule)] if rule else [])
    if rule:
        assert outcome.rejections[0].original_text.startswith(row)


@pytest.mark.parametrize("tail", ["", ";", ";;", ";;;", "; ;"])
def test_rows_may_lack_the_trailing_delimiters_of_the_header(tail):
    outcome, frame = ingest_one(f"Sheet;Place;Thickness;Note;; ;\nA;1;90;x{tail}\n")
    assert held(outcome) == []
    assert frame["note"].tolist() == ["x"]


def test_a_value_below_a_header_cell_without_a_name_is_ignored():
    outcome, frame = ingest_one("Sheet;Place;Thickness;Note;;\nA;1;90;x;y;z\nA;2;90;x;y;z;1\n")
    assert held(outcome) == [(3, "field_count")]
    assert lines(frame) == [2]


def test_a_field_count_says_both_counts():
    outcome, _ = ingest_one(f"{HEADER}A;1\n")
    assert outcome.rejections[0].what == "The line has 2 cells; the header has 4."


def test_a_truncated_last_line_is_held_and_the_rows_before_it_are_imported():
    outcome, frame = ingest_one(f"{HEADER}A;1;90;\nA;2;9")
    assert lines(frame) == [2]
    assert held(outcome) == [(3, "truncated")]
    assert outcome.rejections[0].what.startswith(
        "The file ends in the middle of this line, which has 3 cells; the header has 4."
    )


def test_a_last_line_without_line_end_is_imported_with_a_remark():
    outcome, frame = ingest_one(f"{HEADER}A;1;90;\nA;2;91;x")
    assert lines(frame) == [2, 3]
    assert outcome.remark == "The last line has no line end. If lines are missing, export the file again."
    assert ingest_one(f"{HEADER}A;1;90;\n")[0].remark == ""


@pytest.mark.parametrize(
    "tail",
    [
        'A;2;91;"open\nA;3;92;\nA;4;93;\n',
        'A;2;91;"open\nA;3;92;"closed"\nA;4;93;\n',  # taken literally, rows 3 and 4 would be one cell
        'A;2;91;"open\n\n\n',
        'A;2;91;"open',
    ],
)
def test_rows_after_an_unclosed_quote_never_become_a_cell(tail):
    outcome, frame = ingest_one(HEADER + "A;1;90;\n" + tail)
    assert lines(frame)[:1] == [2]
    assert not frame["note"].notna().any()
    assert (3, "open_quote") in held(outcome)
    hanging = next(reason for reason in outcome.rejections if reason.rule == "open_quote")
    assert hanging.original_text.startswith('A;2;91;"open')
    assert sum(vars(outcome.account).values()) == 2 * outcome.account.lines


def test_a_cell_that_is_too_long_is_held_and_not_counted_as_blank():
    data = HEADER + 'A;1;90;"x"\nA;2;91;' + "x" * 200_000 + "\nA;3;92;\n"
    outcome, frame = ingest_one(data)
    assert lines(frame) == [2]
    assert held(outcome) == [(3, "open_quote")]
    assert (outcome.account.blank, outcome.account.continuation) == (0, 1)


def test_a_line_of_several_megabytes_is_imported():
    outcome, frame = ingest_one(HEADER + "A;1;90;" + "µ" * 3_000_000 + "\nA;2;91;\n")
    assert lines(frame) == [2, 3]
    assert frame["note"].str.len().tolist()[:1] == [3_000_000]
    assert held(outcome) == []


def test_the_header_must_have_every_column_that_is_read():
    outcome, _ = ingest_one("Sheet;Thickness\nA;90\n")
    assert held(outcome) == [(None, "missing_column")]
    assert outcome.rejections[0].what == (
        "The header (line 1) has no columns 'Note', 'Place', which the profile thickness reads. "
        "It has: 'Sheet', 'Thickness'."
    )


def test_a_column_that_is_read_must_occur_once():
    outcome, _ = ingest_one("Sheet;Place;Thickness;Note;Thickness\nA;1;90;;91\n")
    assert held(outcome) == [(None, "repeated_column")]
    assert "has column 'Thickness' more than once" in outcome.rejections[0].what


def test_a_column_that_is_not_read_may_occur_twice():
    outcome, frame = ingest_one("Sheet;Place;Thickness;Note;Spare;Spare\nA;1;90;;1;2\n")
    assert lines(frame) == [2]
    assert held(outcome) == []


def test_columns_are_found_by_name_in_any_order():
    _, frame = ingest_one("Note;Thickness;Spare;Place;Sheet\nn;90;;1;A\n")
    assert frame[["sheet_id", "position_no", "thickness_um", "note"]].iloc[0].tolist() == ["A", 1, 90.0, "n"]


@pytest.mark.parametrize("unit", ["um", "µm", "[µm]", "(um)", " um ", "micrometer", "", "-", "1"])
def test_units_rows_that_say_the_same_or_nothing(unit):
    outcome, frame = ingest_one(f"{HEADER};;{unit};\nA;1;90;\n", UNITS)
    assert (held(outcome), lines(frame), outcome.account.units_row) == ([], [3], 1)


@pytest.mark.parametrize("unit", ["mm", "mil", "N", "wombat", "90"])
def test_a_units_row_that_contradicts_the_profile_holds_the_file(unit):
    outcome, _ = ingest_one(f"{HEADER};;{unit};\nA;1;90;\n", UNITS)
    assert held(outcome) == [(None, "units_row")]
    assert outcome.rejections[0].what == (
        f"The units row (line 2) gives {unit!r} for 'Thickness'; the profile thickness expects 'um'."
    )


def test_a_file_that_ends_before_its_units_row():
    outcome, _ = ingest_one(HEADER, UNITS)
    assert (
        outcome.rejections[0].what
        == "The table ends before line 2, where the profile thickness expects a units row."
    )


def test_a_units_row_that_breaks_off_early_says_nothing_of_the_rest():
    outcome, frame = ingest_one(f"{HEADER};\nA;1;90;\n", UNITS)
    assert (held(outcome), lines(frame)) == ([], [3])


@pytest.mark.parametrize("tail", ["", "\n\n", ";;;\n"])
def test_a_header_without_rows_is_held(tail):
    outcome, _ = ingest_one(HEADER + tail)
    assert held(outcome) == [(None, "no_data_rows")]


def test_two_files_with_the_same_header_are_read_together_and_kept_apart():
    files = [
        file_of(f"{HEADER}{row}".encode(), name)
        for name, row in (("a", "A;1;90;\n"), ("b", "\nB;x;91;\nB;2;92;\n"))
    ]
    result = ingest(files, [profile()], "UTC")
    assert_all_is_accounted_for(result)
    ((_, frame),) = result.records
    assert frame[["file_hash", "line_number", "sheet_id"]].to_numpy().tolist() == [
        [files[0].file_hash, 2, "A"],
        [files[1].file_hash, 4, "B"],
    ]
    assert held(result.outcomes[1]) == [(3, "number")]


def test_a_line_account_that_does_not_add_up_raises():
    LineAccount(lines=3, header=1, stored=2).check("a.csv")
    with pytest.raises(AssertionError, match=r"a\.csv: 3 lines, but 2 accounted for"):
        LineAccount(lines=3, header=1, stored=1).check("a.csv")
    assert LineAccount.all_held(7) == LineAccount(lines=7, held=7)


SAMPLE = profile(
    THICKNESS.replace("preamble = 0", 'preamble = "^Place;"')
    .replace('header = ["Sheet", "Thickness"]', 'header = ["Place", "Thickness"]')
    .replace('sheet_id = "Sheet"\n', "")
    .replace("[columns]", "[preamble.values]\nsheet_id = { line = '^Sample: *(.+)$' }\n\n[columns]")
)
BLOCK = "Place;Thickness;Note\n1;90;\n2;91;\n"


@pytest.mark.parametrize(
    ("text", "line"), [(f"Sample: A\n{BLOCK}\nSample: B\n{BLOCK}", 6), (f"Sample: A\nSample: B\n{BLOCK}", 2)]
)
def test_a_preamble_value_with_a_second_value_holds_the_file(text, line):
    outcome, _ = ingest_one(text, SAMPLE)
    assert held(outcome) == [(None, "preamble_value")]
    assert outcome.rejections[0].what == (
        f"sheet_id has two values: 'A' on line 1 and 'B' on line {line}. It is unclear which rows have which."
    )


def test_a_preamble_value_that_occurs_again_is_one_value():
    outcome, frame = ingest_one(f"Sample: A\n{BLOCK}\nSample: A \n", SAMPLE)
    assert frame["sheet_id"].tolist() == ["A", "A"]
    assert held(outcome) == [(6, "field_count")]


@pytest.mark.parametrize(
    ("footers", "remark"),
    [
        (["Mean;;90,5;", "s;2;;", "Mean;n=2;90,5;", "Mean 90,5"], ""),
        (
            ["Meanwood 3;1;90,5;"],
            "1 line counted as summary by dialect.footer looks like data (line 3). If it is a result, correct "
            "dialect.footer in the profile.",
        ),
        (
            ["Mean;;90,5;", "s-11;1;90,5;", "s-11;2;1.091,5;a"],
            "2 lines counted as summary by dialect.footer look like data (the first is line 4). If they are results, "
            "correct dialect.footer in the profile.",
        ),
    ],
)
def test_summaries_that_look_like_data_are_remarked_with_their_count(footers, remark):
    used = profile(THICKNESS.replace("preamble = 0", 'preamble = 0\nfooter = "^(Mean|s)"'))
    outcome, _ = ingest_one("\n".join([HEADER + "A;1;90;", *footers, ""]), used)
    assert outcome.account.footer == len(footers)
    assert outcome.remark == remark
