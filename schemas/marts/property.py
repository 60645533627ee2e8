"""Property: the registry of properties that the run worked with."""

import pandera.pandas as pa

from schemas.columns import Flag, Integer, column
from schemas.properties import Property as Entry


class Property(pa.DataFrameModel):
    """One row per property of the registry: the shipped ones and the laboratory's own.

    Conditions, atmosphere and mean of a made property are those of the readings it is made of.
    """

    property: str = column("Name of the property, as in sheet_property.")
    unit: str = column("Unit of its values (UCUM).")
    description: str = column("What the property is.")
    source: str = column("Standard or book that defines it.", nullable=True)
    subject: str = column("What is tested: the sheet, or the stock it is made of.", isin=("sheet", "stock"))
    direction: str = column(
        "none: no direction; strip: MD and CD are the direction of the force; tear: that of the tear line; signed: an "
        "angle or a curvature with a sign.",
        isin=("none", "strip", "tear", "signed"),
    )
    sided: Flag = column("Whether the two sides of a sheet differ.")
    mean: str = column(
        "Kind of mean. logarithmic: mean of the logarithms; circular: mean of angles that repeat after 180 degrees.",
        isin=("arithmetic", "logarithmic", "circular"),
    )
    standard_atmosphere: Flag = column("Whether the result depends on the atmosphere of the test.")
    readings: str = column("Kind of record whose values are averaged.", nullable=True)
    formula: str = column(
        "Formula of a made property over columns; missing where it is measured.", nullable=True
    )
    never_pooled: str = column(
        "Conditions of a test that are part of what its value is, besides method, side, ply and treatment; separated "
        "by commas.",
        nullable=True,
    )
    usual_readings: Integer = column("Usual number of readings of a sheet.", unit="1", nullable=True)
    usual_cv_pct: float = column(
        "Usual coefficient of variation of the readings of a sheet.",
        unit="%",
        source="common practice, no source",
        nullable=True,
    )
    plausible_low: float = column(
        "Lowest value that laboratory sheets usually have.",
        source="common practice, no source",
        nullable=True,
    )
    plausible_high: float = column(
        "Highest value that laboratory sheets usually have.",
        source="common practice, no source",
        nullable=True,
    )
    entry: str = column("The entry of the registry, as JSON.")

    class Config:
        name = "property"
        strict = True


def row_of(entry: Entry) -> dict[str, object]:
    """Return the row of a property, but for the column ``entry``."""
    measured = entry.averaged or entry
    low, high = entry.plausible or (None, None)
    return {
        "property": entry.name,
        "unit": entry.unit,
        "description": entry.description,
        "source": entry.source,
        "subject": "stock" if measured.readings == "stock" else "sheet",
        "direction": measured.direction,
        "sided": measured.sided,
        "mean": measured.mean,
        "standard_atmosphere": measured.standard_atmosphere,
        "readings": measured.readings,
        "formula": entry.formula,
        "never_pooled": ", ".join(measured.never_pooled) or None,
        "usual_readings": measured.usual_readings,
        "usual_cv_pct": measured.usual_cv_pct,
        "plausible_low": low,
        "plausible_high": high,
    }
