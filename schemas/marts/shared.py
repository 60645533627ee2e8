"""Columns that more than one mart has, besides those that records have too."""

from typing import Any

from schemas.columns import column
from schemas.names import GRAMMAGE_BASES, VERDICTS

PROPERTY_DIRECTIONS = ("MD", "CD", "GM", "MD/CD")

grammage_basis = column(
    "Basis of the grammage that indices, density and bulk are made with, as the settings choose it.",
    isin=GRAMMAGE_BASES,
)
grammage_g_m2 = column(
    "Sheet's mean grammage on the basis that grammage_basis names.",
    unit="g/m2",
    source="ISO 536",
    nullable=True,
)
grammage_conditioned_g_m2 = column(
    "Sheet's mean conditioned grammage: weighed, else from the oven-dry one and the moisture that "
    "moisture_origin names.",
    unit="g/m2",
    source="ISO 536",
    nullable=True,
)
grammage_oven_dry_g_m2 = column(
    "Sheet's mean oven-dry grammage: weighed, else from the conditioned one and the moisture that "
    "moisture_origin names.",
    unit="g/m2",
    source="ISO 536",
    nullable=True,
)
grammage_as_received_g_m2 = column(
    "Sheet's mean grammage as received, unconditioned.", unit="g/m2", source="ISO 536", nullable=True
)
thickness_kind = column(
    "Thickness that density, bulk and modulus are made with, as the settings choose it: of a single sheet, "
    "or of a pack divided by its sheets.",
    isin=("single", "stack"),
)
apparent_density_kg_m3 = column(
    "Sheet's mean grammage over its mean thickness of the kind that thickness_kind names.",
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
    "Oven-dry grammage if all that was sprayed stays on the forming area.",
    unit="g/m2",
    source="mass balance",
    nullable=True,
)
delivery_time_s = column("Time to spray the stock: volume over flow rate.", unit="s", nullable=True)
jet_to_wire_ratio = column(
    "Jet speed along the wire over wire speed; above 1 rush, below 1 drag.",
    unit="1",
    source="common practice, no source",
    nullable=True,
)
carry_over = column(
    "The tank held another furnish before and was not both drained and cleaned in between; missing where "
    "the tank's log does not tell.",
    nullable=True,
)
direction = column(
    "MD or CD; GM for the geometric mean of both, MD/CD for their ratio; missing where there is no "
    "direction.",
    isin=PROPERTY_DIRECTIONS,
    nullable=True,
)
property_name = column(
    "Name of the property: its column name in wide tables without direction and unit; with _estimated behind it, "
    "the estimate at the laboratory's reference moisture, which wide tables do not show."
)
basis = column(
    "Basis of the grammage it is made with; missing where no grammage enters.",
    isin=GRAMMAGE_BASES,
    nullable=True,
)
pressure_kpa = column(
    "Pressure of the thickness readings it is made with; missing where no thickness enters or the export "
    "does not tell the pressure.",
    unit="kPa",
    nullable=True,
)


def worst_verdict() -> Any:
    """Return the column of the verdict on the readings of a value."""
    return column(
        "Worst verdict on the atmosphere of the readings that n counts: standard, unverified or off_standard; missing "
        "where none of them needs an atmosphere, as weighings oven dry.",
        source="ISO 187; TAPPI T 402",
        isin=VERDICTS,
        nullable=True,
    )


def verdict() -> Any:
    """Return the column of a verdict on the atmosphere; pandera wants one for each name it stands under."""
    return column(
        "standard: made in the atmosphere that the settings choose, after the stay that they require; "
        "off_standard: the logs prove otherwise; unverified: they do not tell.",
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
    "Verdicts on the atmosphere whose tests enter means, as the settings choose them, separated by commas."
)
flags = column(
    "What else to know before using the value, separated by commas: readings_left_out, some do not count; "
    "derived_grammage, its grammage is not weighed on its basis; moisture_of_trial_point, nor the moisture measured "
    "on the sheet itself; odd_moisture, see moisture_warning of the sheet; carry_over and furnish_differs_from_tank, "
    "see the sheet. Missing where there is nothing.",
    nullable=True,
)
n_left_out = column(
    "Readings left out because of their atmosphere or a remark: of all that would enter.", unit="1"
)
assumption = column(
    "For a property that ends in _estimated: what the estimate assumes; missing for measured ones.",
    nullable=True,
)
unit = column("Unit of value and s, as UCUM code.")
cv_pct = column("Coefficient of variation: s over value.", unit="%", nullable=True)


def uncertainty() -> dict[str, Any]:
    """Return the columns that say how sure a value is; all are in the unit that ``unit`` names."""
    guide = "GUM, JCGM 100:2008 (from memory)"
    return {
        "standard_uncertainty": column(
            "Combined standard uncertainty of value, of the parts that uncertainty_of names; missing where none "
            "is known. First-order propagation. The parts that testers are to blame for do not shrink with the "
            "number of readings; of several testers in one mean the largest accuracy counts.",
            source=guide,
            nullable=True,
        ),
        "expanded_uncertainty": column(
            "Twice standard_uncertainty (k = 2): some 95 %.", source=guide, nullable=True
        ),
        "systematic_uncertainty": column(
            "The part of standard_uncertainty that is owed to the accuracy of the testers as the settings state it "
            "and to a moisture taken from the trial point: more readings do not reduce it, and it hardly bears on a "
            "comparison of values from the same testers.",
            source=guide,
            nullable=True,
        ),
        "interval_low": column(
            "Lower end of the 95 % interval of the mean, by Student's t from n and s alone; missing where s is. It "
            "tells of scatter, not of what testers are off by.",
            source="Student's t with n - 1 degrees of freedom",
            nullable=True,
        ),
        "interval_high": column(
            "Upper end of that interval.",
            source="Student's t with n - 1 degrees of freedom",
            nullable=True,
        ),
    }


uncertainty_of = column(
    "Parts that standard_uncertainty is made of, separated by commas: scatter of the readings, scatter of the means "
    "they were made with, or between sheets; then the testers' accuracies that are stated, named by what they "
    "measure, of which MD/CD keeps only what does not cancel; missing where nothing is known.",
    nullable=True,
)
