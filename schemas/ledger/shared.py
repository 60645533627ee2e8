"""Columns of the ledger that published tables have too: what is known of a file, and what a raw curve shows."""

from schemas.columns import column

file_name = column("Name of the file in the inbox when it was first seen.")
size_bytes = column("Size of the file in bytes.", unit="1", ge=0)
received_night = column("Run in which the file was first seen.")
in_inbox = column(
    "Whether the file's bytes stand in the inbox still; what is held of a file replaced or taken out is closed."
)
record = column("Kind of record that its profile makes.", nullable=True)
profile = column("Export profile that it matched.", nullable=True)
encoding = column("Encoding the file was read in.", nullable=True)
recognised_by = column("How the profile was recognised.", nullable=True)
held_whole = column("Whether the whole file is held.")
remark = column("What else was noticed.", nullable=True)
lines = column("Lines of the file.", unit="1", ge=0)
preamble_lines = column("Lines above the header.", unit="1", ge=0)
header_lines = column("Header lines.", unit="1", ge=0)
units_row_lines = column("Lines that name units.", unit="1", ge=0)
blank_lines = column("Blank lines.", unit="1", ge=0)
footer_lines = column("Summary lines, counted and not loaded.", unit="1", ge=0)
continuation_lines = column("Lines that continue a quoted cell.", unit="1", ge=0)

findings = column(
    "What is noticeable about the curve, separated by commas: too_few_points, non_finite, "
    "non_monotone_elongation or no_rise make it unusable; saturated, clamp_slip or early_stop cast doubt on it.",
    nullable=True,
)
usable = column("Whether the curve could be reduced at all.")
n_points = column("Points of the curve.", unit="1", ge=0)
max_force_n = column("Maximum force, from the force zero.", unit="N", source="ISO 1924-3", nullable=True)
elongation_at_max_mm = column(
    "Elongation at maximum force, from the end of the slack.",
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
