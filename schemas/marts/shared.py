"""Columns that several marts share and records do not have."""

from typing import Any

from schemas.columns import column
from schemas.names import GRAMMAGE_BASES, VERDICTS

PROPERTY_DIRECTIONS = ("MD", "CD", "GM", "MD/CD")

grammage_basis = column(
    "Grammage basis of indices, density and bulk, from the settings.",
    isin=GRAMMAGE_BASES,
)
grammage_g_m2 = column(
    "Mean grammage of the sheet on the basis in grammage_basis.",
    unit="g/m2",
    source="ISO 536",
    nullable=True,
)
grammage_conditioned_g_m2 = column(
    "Mean conditioned grammage of the sheet: weighed, else computed from the oven-dry grammage and the "
    "moisture in moisture_origin.",
    unit="g/m2",
    source="ISO 536",
    nullable=True,
)
grammage_oven_dry_g_m2 = column(
    "Mean oven-dry grammage of the sheet: weighed, else computed from the conditioned grammage and the "
    "moisture in moisture_origin.",
    unit="g/m2",
    source="ISO 536",
    nullable=True,
)
grammage_as_received_g_m2 = column(
    "Mean grammage of the sheet as received, without conditioning.",
    unit="g/m2",
    source="ISO 536",
    nullable=True,
)
thickness_kind = column(
    "Thickness used for density, bulk and modulus, from the settings: single sheet, or a pack divided by "
    "its sheets.",
    isin=("single", "stack"),
)
apparent_density_kg_m3 = column(
    "Mean grammage of the sheet over its mean thickness, of the kind in thickness_kind.",
    unit="kg/m3",
    source="ISO 534",
    nullable=True,
)
oven_dry_mass_g = column(
    "Oven-dry mass sprayed: stock volume times stock density times consistency.",
    unit="g",
    source="mass balance",
    nullable=True,
)
predicted_grammage_g_m2 = column(
    "Oven-dry grammage of a sheet that keeps all sprayed fibre on the forming area.",
    unit="g/m2",
    source="mass balance",
    nullable=True,
)
delivery_time_s = column("Time to spray the stock: volume over flow rate.", unit="s", nullable=True)
jet_to_wire_ratio = column(
    "Jet speed along the wire over wire speed; above 1 is rush, below 1 is drag.",
    unit="1",
    source="common practice, no source",
    nullable=True,
)
carry_over = column(
    "Whether the tank held another furnish before and was not both drained and cleaned in between; "
    "missing where the tank log is incomplete.",
    nullable=True,
)
direction = column(
    "MD or CD; GM for the geometric mean of both, MD/CD for their ratio; missing for a property without a"
    " direction.",
    isin=PROPERTY_DIRECTIONS,
    nullable=True,
)
property_name = column(
    "Property: its column name in wide tables without direction and unit. A name that ends in _estimated "
    "is the estimate at the laboratory's reference moisture, which wide tables do not show."
)
basis = column(
    "Grammage basis of the property; missing where it does not depend on grammage.",
    isin=GRAMMAGE_BASES,
    nullable=True,
)
pressure_kpa = column(
    "Pressure of the thickness readings; missing where the property does not depend on thickness or the "
    "export gives no pressure.",
    unit="kPa",
    nullable=True,
)

side = column("Side of the sheet that was tested; missing where the test has none.", nullable=True)
ply = column("Ply of the sheet that was tested; missing for the whole sheet.", nullable=True)
treatment = column("Treatment before the test, such as ageing; missing without one.", nullable=True)
method = column("Test method, where a property has several that are never averaged together.", nullable=True)
test_time_s = column(
    "Time of the test that is part of what it measures, as of water absorption; missing where it has none.",
    unit="s",
    nullable=True,
)
length_mm = column(
    "Test length that is part of what it measures; missing where it has none.", unit="mm", nullable=True
)
rate_mm_min = column(
    "Rate of the test that is part of what it measures; missing where it has none.",
    unit="mm/min",
    nullable=True,
)


def worst_verdict() -> Any:
    """Return the column of the worst verdict on the readings of a value."""
    return column(
        "Worst atmosphere verdict of the readings in n; missing where none of them needs a test atmosphere, "
        "as oven-dry weighings.",
        source="ISO 187; TAPPI T 402",
        isin=VERDICTS,
        nullable=True,
    )


def verdict() -> Any:
    """Return the column of a verdict on the atmosphere; pandera needs a new one for each name."""
    return column(
        "standard: made in the chosen atmosphere after the required conditioning; off_standard: the logs show"
        " otherwise; unverified: the logs are incomplete.",
        source="ISO 187; TAPPI T 402",
        isin=VERDICTS,
    )


def verdict_reason() -> Any:
    """Return the column of a verdict's reason."""
    return column(
        "Every reason why the test is not standard, or that its mass still changed, with times in the laboratory's "
        "time zone; missing where there is none.",
        nullable=True,
    )


admitted_verdicts = column(
    "Atmosphere verdicts whose tests count in the means, from the settings, separated by commas."
)
flags = column(
    "Warnings on the value, separated by commas. readings_left_out: some readings do not count; "
    "derived_grammage: the grammage on this basis is computed, not weighed; moisture_of_trial_point: the "
    "moisture is not the sheet's own; odd_moisture, carry_over and furnish_differs_from_tank: see the "
    "columns of the sheet. Missing without a warning.",
    nullable=True,
)
n_left_out = column("Number of readings left out because of their atmosphere or a remark.", unit="1")
assumption = column(
    "Assumption of an estimate, for a property that ends in _estimated; missing for measured properties.",
    nullable=True,
)
unit = column("Unit of value and s as UCUM code.")
cv_pct = column("Coefficient of variation: s divided by value.", unit="%", nullable=True)


def uncertainty() -> dict[str, Any]:
    """Return the columns of a value's uncertainty; all are in the unit that ``unit`` names."""
    guide = "GUM, JCGM 100:2008 (from memory)"
    return {
        "standard_uncertainty": column(
            "Combined standard uncertainty of value by first-order propagation of the contributions in "
            "uncertainty_of; missing where none is known. Instrument error does not decrease with the number of "
            "readings; with several testers in one mean the largest error counts.",
            source=guide,
            nullable=True,
        ),
        "expanded_uncertainty": column(
            "Expanded uncertainty: twice standard_uncertainty (k = 2), about 95 %.",
            source=guide,
            nullable=True,
        ),
        "systematic_uncertainty": column(
            "Systematic part of standard_uncertainty: stated instrument error and a moisture taken from the trial"
            " point. More readings do not reduce it, and it largely cancels when values from the same testers are"
            " compared.",
            source=guide,
            nullable=True,
        ),
        "interval_low": column(
            "Lower end of the 95 % confidence interval of the mean, by Student's t from n and s; missing where s "
            "is missing. It covers scatter, not instrument error.",
            source="Student's t with n - 1 degrees of freedom",
            nullable=True,
        ),
        "interval_high": column(
            "Upper end of the same interval.",
            source="Student's t with n - 1 degrees of freedom",
            nullable=True,
        ),
    }


uncertainty_of = column(
    "Contributions to standard_uncertainty, separated by commas: scatter of the readings, of the means "
    "used with them, or between sheets, and the stated accuracies of the testers. MD/CD only contains "
    "what does not cancel. Missing where no contribution is known.",
    nullable=True,
)
