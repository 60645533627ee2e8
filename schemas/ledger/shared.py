"""Columns of the ledger that published tables have too: the facts of a file and the results of a raw curve."""

from schemas.columns import column

file_name = column("Name of the file in the inbox when a run first found it.")
size_bytes = column("Size of the file in bytes.", unit="1", ge=0)
exported_at_utc = column(
    "Time of the export as the file gives it, in UTC; it counts before the modification time.",
    unit="UTC",
    nullable=True,
)
received_night = column("Run that first found the file.")
in_inbox = column(
    "Whether the inbox still contains the file's bytes; entries on hold of a replaced or removed file are"
    " closed."
)
record = column("Kind of record that the file's profile produces.", nullable=True)
profile = column("Export profile that the file matched.", nullable=True)
encoding = column("Encoding with which the file was read.", nullable=True)
recognised_by = column("How the profile was matched.", nullable=True)
held_whole = column("Whether the whole file is on hold.")
remark = column("Remark on the file.", nullable=True)
lines = column("Number of lines of the file.", unit="1", ge=0)
preamble_lines = column("Number of lines above the header.", unit="1", ge=0)
header_lines = column("Number of header lines.", unit="1", ge=0)
units_row_lines = column("Number of lines that give units.", unit="1", ge=0)
blank_lines = column("Number of blank lines.", unit="1", ge=0)
footer_lines = column("Number of summary lines, which are not imported.", unit="1", ge=0)
continuation_lines = column(
    "Number of lines that continue a quoted cell or a transposed table.", unit="1", ge=0
)

findings = column(
    "Findings in the curve, separated by commas. too_few_points, non_finite, non_monotone_elongation and "
    "no_rise make it unusable; saturated, clamp_slip and early_stop make it doubtful.",
    nullable=True,
)
usable = column("Whether the curve could be evaluated.")
n_points = column("Points of the curve.", unit="1", ge=0)
max_force_n = column("Maximum force above the force zero.", unit="N", source="ISO 1924-3", nullable=True)
elongation_at_max_mm = column(
    "Elongation at maximum force, measured from the end of the slack.",
    unit="mm",
    source="ISO 1924-3",
    nullable=True,
)
elongation_at_break_mm = column(
    "Elongation at the last point before the break; missing where the record ends before it.",
    unit="mm",
    nullable=True,
)
energy_to_max_j = column("Work up to maximum force.", unit="J", source="ISO 1924-3", nullable=True)
max_slope_n_mm = column(
    "Largest slope of a least-squares line sliding along the curve.",
    unit="N/mm",
    source="ISO 1924-3",
    nullable=True,
)
slack_removed_mm = column(
    "Recorded elongation at which the piece is taut; negative where the record begins under load.",
    unit="mm",
    nullable=True,
)
force_zero_n = column("Recorded force of the unloaded piece.", unit="N", nullable=True)
bend_elongation_mm = column(
    "Elongation of the bend: where the tangent at the maximum slope meets the line of the curve's last part; "
    "missing where the curve has none.",
    unit="mm",
    source="common practice, no source",
    nullable=True,
)
bend_force_n = column("Force of the bend.", unit="N", nullable=True)
