"""What is written through the shipped profiles, read back through them."""

from itertools import permutations

import numpy as np
import pandas as pd
import pytest

from pipelines.demo import exports
from pipelines.demo.simulator import simulate
from pipelines.demo.timetable import ZONE
from pipelines.intake import profiles
from pipelines.intake.inbox import content_hash
from pipelines.intake.ingestion import ingest
from pipelines.intake.profile_matching import ArchivedFile
from schemas.records import KINDS
from schemas.records.record import key_of

SHIPPED = profiles.load_profiles(None)
BY_NAME = {profile.name: profile for profile in SHIPPED}


@pytest.fixture(scope="module")
def simulation():
    return simulate(24, seed=5)


@pytest.fixture(scope="module")
def written(simulation):
    return exports.write_all(SHIPPED, simulation.records, simulation.profile_of_record, 5, ZONE)


@pytest.fixture(scope="module")
def taken(written):
    files = [ArchivedFile(content_hash(export.content), export.name, export.content) for export in written]
    return ingest(files, SHIPPED, ZONE)


def test_every_shipped_profile_is_used(written):
    assert {export.profile.name for export in written} == BY_NAME.keys()


def test_every_file_is_recognised_by_the_profile_that_wrote_it(written, taken):
    found = {outcome.file_name: outcome.profile and outcome.profile.name for outcome in taken.outcomes}
    assert found == {export.name: export.profile.name for export in written}


def test_only_the_ambiguous_hour_is_held_and_only_without_an_offset(taken):
    held = [(outcome.file_name, reason.rule) for outcome in taken.outcomes for reason in outcome.rejections]
    assert held == [("climate-humidity_001.csv", "clock_change")] * 8  # two hours, four readings in each


@pytest.mark.parametrize("kind", KINDS)
def test_records_survive_export_and_import(kind, simulation, taken):
    original = simulation.records[kind]
    if kind == "climate":
        original = original[~_ambiguous(original)]
    key = [name for name in key_of(KINDS[kind]) if name in original and not name.endswith("_kpa")]
    read = pd.concat(
        [frame for of, frame in taken.records if of == kind],
        ignore_index=True,
    )
    if kind == "tensile_curve":  # the points of a curve share a key: compared one by one, in their order
        original = original.assign(point=original.groupby(key, dropna=False).cumcount())
        read = read.assign(point=read.groupby(key, dropna=False).cumcount())
        key.append("point")
    both = original.merge(read, on=key, suffixes=("", "_read"), validate="one_to_one")
    assert len(both) == len(original) == len(read)
    for name in original.columns.difference(key):
        values, back = both[name], both[f"{name}_read"]
        if name in ("relative_humidity_pct", "value", "unit"):  # worked out where it was not exported
            values, back = values[values.notna()], back[values.notna()]
        if pd.api.types.is_float_dtype(values):
            shown = 1e-5 * values.abs().median()  # six figures of a typical value are shown
            assert np.allclose(values, back, rtol=2e-5, atol=shown, equal_nan=True), name
        else:
            assert values.isna().equals(back.isna()), name
            assert (values.dropna() == back.dropna()).all(), name


def test_the_humidity_from_the_wet_bulb_is_that_of_the_room(taken):
    read = pd.concat([frame for kind, frame in taken.records if kind == "climate"], ignore_index=True)
    worked_out = read[read["wet_bulb_c"].notna()]
    assert len(worked_out) > 1000
    assert worked_out["relative_humidity_pct"].between(48, 52).all()
    assert worked_out["relative_humidity_pct"].std() == pytest.approx(
        np.hypot(0.5 / np.sqrt(2), 0.15), rel=0.1
    )


def _ambiguous(climate):
    """Readings of the logger without an offset in the two hours that its clock called the same."""
    local = climate["read_at_utc"].dt.tz_localize("UTC").dt.tz_convert(ZONE).dt.tz_localize(None)
    return (climate["room"] == "room 1") & local.dt.tz_localize(ZONE, ambiguous="NaT").isna()


def test_records_are_on_the_lines_given_by_the_export(written, taken):
    by_hash = {content_hash(export.content): export for export in written}
    for kind, frame in taken.records:
        if kind in ("climate", "tensile_curve"):  # readings held, and pieces side by side
            continue
        for file_hash, rows in frame.groupby("file_hash"):
            export = by_hash[file_hash]
            lines = np.arange(len(export.records)) + export.first_line
            assert rows["line_number"].tolist() == lines.tolist()


def test_summary_lines_and_units_rows_are_accounted_for(written, taken):
    accounts = {outcome.file_name: outcome.account for outcome in taken.outcomes}
    for export in written:
        dialect = export.profile.text.dialect
        assert accounts[export.name].footer == (3 if dialect.footer else 0)
        assert accounts[export.name].units_row == (1 if dialect.units_row else 0)
        if export.profile.text.wide is None:
            assert accounts[export.name].stored + accounts[export.name].held == len(export.records)


def test_summary_lines_have_the_mean_of_the_rows_above(written):
    export = next(export for export in written if export.profile.name == "basis-weight-si")
    mean = next(line for line in export.lines if line.startswith("Mean;"))
    assert float(mean.split(";")[2].replace(",", ".")) == pytest.approx(
        export.records["mass_g"].mean(), rel=1e-4
    )


def test_encodings_are_the_profiles(written):
    contents = {export.profile.name: export.content for export in written}
    assert contents["thickness-si"].startswith((b"\xff\xfe", b"\xfe\xff"))
    assert "23 °C".encode("cp1252") in contents["tensile-si"]
    assert contents["forming"].startswith(b"\xef\xbb\xbf")


def test_no_profile_recognises_the_header_of_another():
    for one, other in permutations(SHIPPED, 2):
        assert not set(one.text.recognise.header) <= other.header_cells(), (one.name, other.name)


def test_values_given_once_per_file_separate_the_files(written):
    pieces = [export for export in written if export.profile.name == "tensile-curve-piece"]
    assert len(pieces) == 2 * 2 * 2  # of each ten of the 24 sheets one, in both directions
    assert all(
        len(export.records.drop_duplicates(["sheet_id", "direction", "specimen_no"])) == 1
        for export in pieces
    )
    assert pieces[1].name == "tensile-curve-piece_002_s2.csv"


def test_a_wide_export_has_a_column_for_each_piece_and_empty_cells_after_its_break(written):
    export = next(export for export in written if export.profile.name == "tensile-curve-wide")
    header, units = (line.split(";") for line in export.lines[export.first_line - 3 :][:2])
    pieces = export.records.groupby(["sheet_id", "direction", "specimen_no"], sort=False)
    assert header[0] == "Common travel"
    assert header[1:3] == [f"{export.records['sheet_id'].iloc[0]}/L/{number}" for number in (1, 2)]
    assert units == ["mm"] + ["N"] * pieces.ngroups
    rows = [line.split(";") for line in export.lines[export.first_line - 1 :]]
    filled = [sum(row[place] != "" for row in rows) for place in range(1, len(header))]
    assert filled == pieces.size().tolist()
    assert len(rows) == max(filled) > min(filled)


def test_a_batch_number_parts_the_records_into_files(simulation):
    records = simulation.records["drying"].iloc[:5]
    files = exports.write(BY_NAME["drying"], records, np.array([0, 0, 1, 1, 1]), ZONE)
    assert [len(file.records) for file in files] == [2, 3]
    assert [file.name for file in files] == ["drying_001.csv", "drying_002.csv"]


def test_a_record_that_contradicts_a_constant_is_refused(simulation):
    records = simulation.records["tensile"]
    records = records[records["tester"] == "tensile-us"].iloc[:2].assign(width_mm=15.0)
    with pytest.raises(ValueError, match="do not have the profile's constant 1 as width_mm"):
        exports.write(BY_NAME["tensile-us"], records, np.zeros(2, dtype=int), ZONE)


def test_two_operators_cannot_share_a_file_that_names_one(simulation):
    records = simulation.records["moisture"].iloc[:2].assign(operator=["KL", "MR"])
    with pytest.raises(ValueError, match="operator is given once per file, but has 2 values"):
        exports.write(BY_NAME["moisture"], records, np.zeros(2, dtype=int), ZONE)


def test_a_tester_without_a_profile_is_named(simulation):
    records = {"moisture": simulation.records["moisture"].assign(tester="scale 9")}
    with pytest.raises(ValueError, match="no export profile writes moisture records of scale 9"):
        exports.write_all(SHIPPED, records, {}, 5, ZONE)
