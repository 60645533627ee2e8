"""Names that settings and tables share. It imports nothing, so that commands which only read settings start fast."""

GRAMMAGE_BASES = ("conditioned", "oven_dry", "as_received")

VERDICTS = ("standard", "off_standard", "unverified")
"""Verdicts on the atmosphere of a test, the best first."""

REMARKS = ("normal", "clamp_break", "clamp_slip", "early_stop", "defect", "other")
"""Remarks on a tensile test; a profile maps the tester's own words to these."""

SIDES = ("top", "wire")
"""Sides of a sheet: the wire side lay on the forming fabric."""

NEVER_POOLED = (
    "side",
    "ply",
    "treatment",
    "method",
    "pressure_kpa",
    "test_time_s",
    "length_mm",
    "rate_mm_min",
)
"""Columns of a reading that are part of what its value is, besides property, direction and grammage basis: a mean is
taken within them, never across."""
