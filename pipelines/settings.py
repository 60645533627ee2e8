"""A laboratory's folder and its lab.toml, as typed settings; every error names the key and the file."""

import hashlib
import json
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, get_args
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from pipelines.errors import SettingsError
from pipelines.property_entries import load_registry
from pipelines.toml_files import checked, nearest, read_toml
from schemas.names import GRAMMAGE_BASES, REMARKS, VERDICTS
from schemas.properties import Registry, in_force, registry

if TYPE_CHECKING:
    from pipelines.physics.curves import CurveSettings

GrammageBasis = Literal["conditioned", "oven_dry", "as_received"]
Remark = Literal["normal", "clamp_break", "clamp_slip", "early_stop", "defect", "other"]
Finding = Literal["saturated", "clamp_slip", "early_stop"]
Verdict = Literal["standard", "off_standard", "unverified"]
assert get_args(GrammageBasis) == GRAMMAGE_BASES
assert get_args(Remark) == REMARKS
assert get_args(Verdict) == VERDICTS


def _known_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except Exception:
        raise ValueError(
            f"{name!r} is not a known time zone; write one such as 'Europe/Helsinki' or 'UTC'"
        ) from None
    return name


TimeZone = Annotated[str, AfterValidator(_known_zone)]


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class LaboratorySection(_Section):
    """The laboratory's name and time zone."""

    name: str = Field("Sheet laboratory", min_length=1)
    time_zone: TimeZone = "UTC"


class FormerSection(_Section):
    """The sheet former: its drum and its nozzle. Its measures have no defaults: no two formers are alike."""

    drum_radius_mm: float | None = Field(None, gt=0)
    forming_length_mm: float | None = Field(None, gt=0)
    forming_width_mm: float | None = Field(None, gt=0)
    contraction_coefficient: float = Field(1.0, gt=0.3, le=1)
    stock_density_kg_m3: float = Field(1000.0, gt=900, lt=1200)

    def missing(self) -> dict[str, tuple[str, ...]]:
        """Return the measures that are not given, each with the values that cannot be computed without it."""
        needed_for = {
            "drum_radius_mm": ("centrifugal acceleration",),
            "forming_length_mm": ("predicted grammage", "retention"),
            "forming_width_mm": ("predicted grammage", "retention"),
        }
        return {name: values for name, values in needed_for.items() if getattr(self, name) is None}


class PropertiesSection(_Section):
    """How derived properties are computed."""

    grammage_basis: GrammageBasis = "conditioned"
    thickness: Literal["single", "stack"] = "single"
    thickness_pressure_kpa: float = Field(100.0, gt=0)
    left_out_remarks: tuple[Remark, ...] = Field(
        ("clamp_break", "clamp_slip", "early_stop", "defect"), strict=False
    )


class StaySetting(_Section):
    """How long a sheet from a certain grammage on must have stayed in the atmosphere before it is tested."""

    from_grammage_g_m2: float = Field(ge=0)
    hours: float = Field(gt=0, le=1000)


class AtmosphereSection(_Section):
    """The atmosphere that tests must be made in, and what proves it.

    Defaults: ISO 187 and TAPPI T 402 for 23/50; the tropical alternative 27/65, the stays and the constancy of
    mass from memory of ISO 187; gap, averaging and preconditioning are common practice, no source.
    """

    standard: Literal["23/50", "27/65", "own"] = "23/50"
    temperature_c: float | None = Field(None, gt=0, lt=60)
    temperature_tolerance_c: float | None = Field(None, gt=0, lt=20)
    humidity_pct: float | None = Field(None, gt=0, lt=100)
    humidity_tolerance_pct: float | None = Field(None, gt=0, lt=50)
    stays: tuple[StaySetting, ...] = Field(
        (StaySetting(from_grammage_g_m2=0, hours=4), StaySetting(from_grammage_g_m2=225, hours=8)),
        strict=False,
        min_length=1,
    )
    longest_gap_minutes: float = Field(30.0, gt=0)
    averaging_minutes: float = Field(0.0, ge=0)
    preconditioning_required: bool = False
    mass_constancy_pct: float = Field(0.25, gt=0, le=100)
    mass_constancy_hours: float = Field(1.0, gt=0, le=1000)
    admitted: tuple[Verdict, ...] = Field(("standard",), strict=False, min_length=1)

    @model_validator(mode="after")
    def _own_limits(self) -> "AtmosphereSection":
        own = (
            self.temperature_c,
            self.temperature_tolerance_c,
            self.humidity_pct,
            self.humidity_tolerance_pct,
        )
        if self.standard == "own" and None in own:
            raise ValueError(
                'standard = "own" needs temperature_c, temperature_tolerance_c, humidity_pct and '
                "humidity_tolerance_pct"
            )
        if self.standard != "own" and any(value is not None for value in own):
            raise ValueError(
                'remove the limits, or set standard = "own": the other standards have fixed limits'
            )
        if min(stay.from_grammage_g_m2 for stay in self.stays) > 0:
            raise ValueError("stays must begin with from_grammage_g_m2 = 0")
        return self

    def limits(self) -> tuple[float, float, float, float]:
        """Return temperature and its tolerance in °C, relative humidity and its tolerance in %."""
        if self.standard == "own":
            own = (
                self.temperature_c,
                self.temperature_tolerance_c,
                self.humidity_pct,
                self.humidity_tolerance_pct,
            )
            return tuple(float(value or 0) for value in own)  # type: ignore[return-value]
        return {"23/50": (23.0, 1.0, 50.0, 2.0), "27/65": (27.0, 1.0, 65.0, 2.0)}[self.standard]


class MoistureCorrectionSection(_Section):
    """The laboratory's own correction of properties to a reference moisture, for estimates beside the measured.

    ``percent_per_point`` names tensile properties with the change, in percent of the measured value, for each
    point that the moisture content rises. Published sensitivities disagree: there are no defaults.
    """

    reference_moisture_pct: float | None = Field(None, ge=0, lt=50)
    percent_per_point: dict[str, Annotated[float, Field(ge=-50, le=50)]] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _whole(self) -> "MoistureCorrectionSection":
        known = [entry.name for entry in registry().of_pieces]
        for name in self.percent_per_point:
            if name not in known:
                raise ValueError(f"percent_per_point: unknown property {name!r}{nearest(name, known)}")
        if (self.reference_moisture_pct is None) != (not self.percent_per_point):
            raise ValueError("a correction needs both reference_moisture_pct and percent_per_point")
        return self


class CurvesSection(_Section):
    """How raw tensile curves are reduced, and whether their results or the tester's own are used.

    The reduction's settings and their defaults are those of physics.curves.CurveSettings. The limits of
    disagreement are common practice, no source.
    """

    used: Literal["tester", "curve"] = "tester"
    slack: Literal["tangent", "pre_force", "none"] = "tangent"
    pre_force_n: float = Field(0.2, gt=0)
    remove_force_zero: bool = True
    slope_window_mm: float = Field(0.2, gt=0)
    break_drop_pct: float = Field(10.0, gt=0, lt=100)
    slip_drop_pct: float = Field(2.0, gt=0, lt=100)
    minimum_points: int = Field(10, ge=5)
    elongation_jitter_mm: float = Field(0.01, ge=0)
    left_out_findings: tuple[Finding, ...] = Field(("clamp_slip", "saturated"), strict=False)
    force_limit_pct: float = Field(1.0, gt=0)
    elongation_limit_pct: float = Field(3.0, gt=0)
    energy_limit_pct: float = Field(4.0, gt=0)
    slope_limit_pct: float = Field(5.0, gt=0)

    def reduction(self) -> "CurveSettings":
        """Return the settings of the reduction itself."""
        from pipelines.physics.curves import CurveSettings  # it takes numpy along

        return CurveSettings(**{field.name: getattr(self, field.name) for field in fields(CurveSettings)})


class TesterSection(_Section):
    """Largest errors of one tester, as its certificate states them; what is left out is not known."""

    force_pct: float | None = Field(None, ge=0, lt=100)
    elongation_mm: float | None = Field(None, ge=0)
    width_mm: float | None = Field(None, ge=0)
    span_mm: float | None = Field(None, ge=0)
    mass_g: float | None = Field(None, ge=0)
    area_pct: float | None = Field(None, ge=0, lt=100)
    thickness_um: float | None = Field(None, ge=0)
    value_pct: dict[str, Annotated[float, Field(ge=0, lt=100)]] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _of_further_tests(self) -> "TesterSection":
        known = [name for name, entry in registry().items() if entry.readings == "further"]
        for name in self.value_pct:
            if name not in known:
                raise ValueError(f"value_pct: unknown property {name!r}{nearest(name, known)}")
        return self


class IntakeSection(_Section):
    """How exports are imported."""

    quiet_seconds: float = Field(2.0, ge=0, le=3600)
    largest_file_mb: float = Field(512.0, gt=0)


class PublishingSection(_Section):
    """What is published."""

    snapshots_kept: int = Field(14, ge=1)
    page: bool = True


class Settings(_Section):
    """All of lab.toml."""

    laboratory: LaboratorySection = LaboratorySection()
    former: FormerSection = FormerSection()
    properties: PropertiesSection = PropertiesSection()
    atmosphere: AtmosphereSection = AtmosphereSection()
    moisture_correction: MoistureCorrectionSection = MoistureCorrectionSection()
    curves: CurvesSection = CurvesSection()
    testers: dict[str, TesterSection] = Field(default_factory=dict)
    intake: IntakeSection = IntakeSection()
    publishing: PublishingSection = PublishingSection()

    def for_snapshot(self) -> dict[str, object]:
        """Return the settings that enter into numbers, by the columns of the published table ``setting``."""
        atmosphere, correction = self.atmosphere, self.moisture_correction
        temperature, temperature_tolerance, humidity, humidity_tolerance = atmosphere.limits()
        # Rounded, so that a limit such as 20.1 + 0.1 is the very number that a reading of 20.2 is.
        lowest_temperature, highest_temperature, lowest_humidity, highest_humidity = (
            round(limit, 9)
            for limit in (
                temperature - temperature_tolerance,
                temperature + temperature_tolerance,
                humidity - humidity_tolerance,
                humidity + humidity_tolerance,
            )
        )
        stays = sorted(atmosphere.stays, key=lambda stay: stay.from_grammage_g_m2)
        return {
            "laboratory": self.laboratory.name,
            "time_zone": self.laboratory.time_zone,
            **self.former.model_dump(),
            "grammage_basis": self.properties.grammage_basis,
            "thickness_kind": self.properties.thickness,
            "thickness_pressure_kpa": self.properties.thickness_pressure_kpa,
            "left_out_remarks": ",".join(self.properties.left_out_remarks),
            "lowest_temperature_c": lowest_temperature,
            "highest_temperature_c": highest_temperature,
            "lowest_humidity_pct": lowest_humidity,
            "highest_humidity_pct": highest_humidity,
            "stay_from_grammage_g_m2": [stay.from_grammage_g_m2 for stay in stays],
            "stay_h": [stay.hours for stay in stays],
            "longest_gap_min": atmosphere.longest_gap_minutes,
            "averaging_min": atmosphere.averaging_minutes,
            "preconditioning_required": atmosphere.preconditioning_required,
            "admitted_verdicts": ",".join(atmosphere.admitted),
            "mass_constancy_pct": atmosphere.mass_constancy_pct,
            "mass_constancy_h": atmosphere.mass_constancy_hours,
            "left_out_findings": ",".join(self.curves.left_out_findings),
            "curve_results_used": self.curves.used == "curve",
            "curve_force_limit_pct": self.curves.force_limit_pct,
            "curve_elongation_limit_pct": self.curves.elongation_limit_pct,
            "curve_energy_limit_pct": self.curves.energy_limit_pct,
            "curve_slope_limit_pct": self.curves.slope_limit_pct,
            "reference_moisture_pct": correction.reference_moisture_pct,
            "corrected_properties": ",".join(correction.percent_per_point),
            "corrections_pct": list(correction.percent_per_point.values()),
        }

    def accuracies(self) -> list[dict[str, object]]:
        """Return the testers' stated accuracies as rows of the published table ``tester_accuracy``."""
        return [
            {
                "tester": name,
                **tester.model_dump(exclude={"value_pct"}),
                "value_properties": ",".join(tester.value_pct) or None,
                "values_pct": list(tester.value_pct.values()) or None,
            }
            for name, tester in self.testers.items()
        ]

    def fingerprint(self) -> str:
        """Return a digest that changes when any setting does."""
        text = json.dumps(self.model_dump(mode="json"), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()


class Laboratory:
    """A laboratory's folder and the paths in it."""

    def __init__(self, root: Path) -> None:
        self.root = root.resolve()

    @property
    def settings_file(self) -> Path:
        """The laboratory's settings."""
        return self.root / "lab.toml"

    @property
    def exports(self) -> Path:
        """The laboratory's own export profiles."""
        return self.root / "exports"

    @property
    def properties(self) -> Path:
        """The laboratory's own entries of the registry of properties."""
        return self.root / "properties"

    @property
    def inbox(self) -> Path:
        """Where instruments and people put exports and logs."""
        return self.root / "inbox"

    @property
    def archive(self) -> Path:
        """Every file as received, under its content hash, never changed."""
        return self.root / "archive"

    @property
    def warehouse(self) -> Path:
        """The working database; only a run writes it."""
        return self.root / "warehouse.duckdb"

    @property
    def published(self) -> Path:
        """What readers open: the snapshots."""
        return self.root / "published"

    @property
    def site(self) -> Path:
        """The web page."""
        return self.published / "site"

    @property
    def lock_file(self) -> Path:
        """The lock that a run holds while it is active."""
        return self.root / ".run.lock"

    def settings(self) -> Settings:
        """Read lab.toml.

        Raises SettingsError when lab.toml is missing or a key in it is wrong.
        """
        if not self.settings_file.is_file():
            raise SettingsError(
                f"{self.root} is not a laboratory folder: lab.toml is missing.",
                f"Create a laboratory: sheetlore new-lab {self.root}",
            )
        with in_force(self.registry()):  # names of properties in it are of this registry
            return checked(Settings, read_toml(self.settings_file), self.settings_file)

    def registry(self) -> Registry:
        """Read the registry of properties: the shipped entries and the laboratory's own; raises SettingsError."""
        return load_registry(self.properties)
