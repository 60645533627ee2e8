"""Complete ``further`` and ``stock`` readings: the property's entry decides unit, formula and limits of a row."""

import difflib
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
import pandas as pd

from pipelines.dictionary.units import unit_text
from pipelines.intake.profiles import Profile
from pipelines.intake.rejection import RE_EXPORT
from pipelines.intake.type_parsing import ParseErrors, TypedRows
from pipelines.intake.units import UnitError, conversion
from schemas.columns import quantity_of
from schemas.properties import RAW_UNITS, Property, registry
from schemas.records.further import Further

Mask = npt.NDArray[np.bool_]

COLUMN_OF_RAW = {
    quantity_of(name, (column.metadata or {}).get("unit")): name
    for name, column in Further.to_schema().columns.items()
    if quantity_of(name, (column.metadata or {}).get("unit")) in RAW_UNITS
}
"""Raw quantity -> its column."""


def read_properties(kind: str) -> dict[str, Property]:
    """Return the properties of the registry in force that records of a kind are readings of."""
    return {name: entry for name, entry in registry().items() if entry.readings == kind}


def nearest_property(name: str, known: Iterable[str]) -> str:
    """Return a hint at the property that an unknown name is nearest to, empty where none is near."""
    near = difflib.get_close_matches(name, list(known), n=1, cutoff=0.5)
    return f"; the nearest is {near[0]!r}" if near else ""


def complete_readings(profile: Profile, typed: TypedRows) -> None:
    """Bring the values of a frame to the units of their properties, and compute those that only have raw quantities.

    Rows of an unknown property, with an unsuitable unit or with a value beyond the property's limits get an error.
    """
    _Readings(profile, typed).complete()


class _Readings:
    def __init__(self, profile: Profile, typed: TypedRows) -> None:
        self.profile, self.typed, self.frame = profile, typed, typed.frame

    def complete(self) -> None:
        frame, entries = self.frame, read_properties(self.profile.text.record)
        given_unit = frame["unit"].where(frame["unit"].notna(), self._profile_unit())
        self._reject_unknown(set(entries))
        value = frame["value"].to_numpy(dtype=np.float64, na_value=np.nan).copy()
        unit = pd.Series(None, index=frame.index, dtype="str")
        for name in frame["property"].dropna().unique():
            entry = entries[name]
            rows = (frame["property"] == name).to_numpy(dtype=bool)
            value[rows] = self._in_unit_of(entry, rows, value, given_unit)[rows]
            computed = rows & np.isnan(value)
            value[computed] = self._from_raw(entry)[computed]
            unit[rows] = entry.unit
            self._reject_beyond_limits(entry, rows, value)
            if "direction" in frame:
                self._keep_to_directions(entry, rows)
        frame["value"], frame["unit"] = value, unit

    def _profile_unit(self) -> str | None:
        source = self.profile.sources.get("value")
        return source.unit if source else None

    def _reject_unknown(self, known: set[str]) -> None:
        names = self.frame["property"]
        for name in names[names.notna() & ~names.isin(known)].unique():
            rows = (names == name).to_numpy(dtype=bool)
            self._add(
                "property",
                rows,
                "property",
                f"is not the name of a property of {self.profile.text.record} records{nearest_property(name, known)}",
                f"Correct the cell and {RE_EXPORT} Or map it in columns.property.values of the profile "
                f"{self.profile.name}, or declare the property in the laboratory's folder properties/.",
            )
            self.frame.loc[rows, "property"] = None

    def _in_unit_of(
        self, entry: Property, rows: Mask, value: npt.NDArray[np.float64], given_unit: pd.Series
    ) -> npt.NDArray[np.float64]:
        """Return the values in the property's unit; those whose unit is unsuitable are missing."""
        converted = np.full(len(value), np.nan)
        stated = rows & ~np.isnan(value)
        without = stated & given_unit.isna().to_numpy()
        self._add("unit", without, "required", "is no unit", f"Fill in the unit and {RE_EXPORT}")
        for unit in given_unit[stated & ~without].unique():
            of_unit = stated & (given_unit == unit).to_numpy(dtype=bool)
            try:
                converted[of_unit] = conversion(unit, entry.unit)(value[of_unit])
            except UnitError as error:
                self._add(
                    "unit",
                    of_unit,
                    "unit",
                    f"is not a unit of {_words(entry)}: {error}",
                    f"Correct the unit and {RE_EXPORT} Or correct the profile {self.profile.name}.",
                )
        return converted

    def _from_raw(self, entry: Property) -> npt.NDArray[np.float64]:
        """Return the values that raw quantities give, missing where one of them is."""
        if not entry.raw:
            return np.full(len(self.frame), np.nan)
        value = np.full(len(self.frame), entry.factor / entry.divisor)
        for quantity, power in entry.raw.items():
            raw = self.frame[COLUMN_OF_RAW[quantity]].to_numpy(dtype=np.float64, na_value=np.nan)
            # Nothing is divided by zero: a reading without angle, time or area has no value.
            value = value * np.where((raw == 0) & (power < 0), np.nan, raw) ** float(power)
        return value

    def _reject_beyond_limits(self, entry: Property, rows: Mask, value: npt.NDArray[np.float64]) -> None:
        if entry.limits is None:
            return
        low, high = entry.limits
        beyond = rows & ((value < low) | (value > high))
        unit = unit_text(entry.unit)
        self._add(
            "value"
            if "value" in self.typed.original_cells
            else next(iter(self._raw_columns(entry)), "value"),
            beyond,
            "range",
            f"gives a value beyond the limits of {_words(entry)}, {low:g} to {high:g}{f' {unit}' if unit else ''}",
            f"Check the value and its unit. Correct it and {RE_EXPORT} Or correct the unit in the profile.",
        )
        value[beyond] = np.nan

    def _raw_columns(self, entry: Property) -> list[str]:
        return [COLUMN_OF_RAW[name] for name in entry.raw if COLUMN_OF_RAW[name] in self.typed.original_cells]

    def _keep_to_directions(self, entry: Property, rows: Mask) -> None:
        """Remove a direction and a side that mean nothing for a property, and demand a direction where it has one."""
        if not entry.has_direction:
            self.frame.loc[rows, "direction"] = None
        elif (missing := rows & self.frame["direction"].isna().to_numpy()).any():
            faulty = {
                int(row)
                for errors in self.typed.errors
                if errors.target == "direction"
                for row in errors.rows
            }
            missing[sorted(faulty)] = False
            self._add(
                "direction",
                missing,
                "required",
                f"is no direction, which {_words(entry)} needs",
                f"Fill in MD or CD and {RE_EXPORT}",
            )
        if not entry.sided:
            self.frame.loc[rows, "side"] = None

    def _add(self, column: str, mask: Mask, rule: str, what: str, remedy: str) -> None:
        if not mask.any():
            return
        rows = np.flatnonzero(mask)
        cells = self.typed.original_cells.get(column)
        text = pd.Series([""] * len(rows), dtype="str") if cells is None else cells.iloc[rows]
        name = self.typed.export_names.get(column, column)
        self.typed.errors.append(ParseErrors(column, name, rows, text, rule, what, remedy))


def _words(entry: Property) -> str:
    return entry.name.replace("_", " ")
