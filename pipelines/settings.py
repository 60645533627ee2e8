"""A laboratory's folder and its lab.toml, as typed settings; every error names the key and the file."""

import difflib
import hashlib
import json
import tomllib
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar, get_args, get_origin
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from pipelines.errors import SettingsError
from schemas.records.tensile import REMARKS

GrammageBasis = Literal["conditioned", "oven_dry", "as_taken"]
Remark = Literal["normal", "clamp_break", "clamp_slip", "early_stop", "defect", "other"]
assert get_args(Remark) == REMARKS


def _known_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except Exception:
        raise ValueError(f"{name!r} is no time zone; write one such as 'Europe/Helsinki' or 'UTC'") from None
    return name


Model = TypeVar("Model", bound=BaseModel)
TimeZone = Annotated[str, AfterValidator(_known_zone)]


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class LaboratorySection(_Section):
    """Who the laboratory is."""

    name: str = Field("Sheet laboratory", min_length=1)
    time_zone: TimeZone = "UTC"


class FormerSection(_Section):
    """The sheet former: its drum and its nozzle."""

    drum_radius_mm: float = Field(150.0, gt=0)
    forming_length_mm: float = Field(900.0, gt=0)
    forming_width_mm: float = Field(220.0, gt=0)
    contraction_coefficient: float = Field(1.0, gt=0.3, le=1)
    stock_density_kg_m3: float = Field(1000.0, gt=900, lt=1200)


class PropertiesSection(_Section):
    """How indexed properties are made."""

    grammage_basis: GrammageBasis = "conditioned"
    thickness: Literal["single", "stack"] = "single"
    thickness_pressure_kpa: float = Field(100.0, gt=0)
    left_out_remarks: tuple[Remark, ...] = Field(
        ("clamp_break", "clamp_slip", "early_stop", "defect"), strict=False
    )


class IntakeSection(_Section):
    """How exports are taken in."""

    quiet_seconds: float = Field(2.0, ge=0, le=3600)
    largest_file_mb: float = Field(512.0, gt=0)


class PublishingSection(_Section):
    """What is published."""

    snapshots_kept: int = Field(14, ge=1)


class Settings(_Section):
    """All of lab.toml."""

    laboratory: LaboratorySection = LaboratorySection()
    former: FormerSection = FormerSection()
    properties: PropertiesSection = PropertiesSection()
    intake: IntakeSection = IntakeSection()
    publishing: PublishingSection = PublishingSection()

    def for_snapshot(self) -> dict[str, object]:
        """Return the settings that enter into numbers, by the columns of the published table ``setting``."""
        return {
            "laboratory": self.laboratory.name,
            "time_zone": self.laboratory.time_zone,
            **self.former.model_dump(),
            "grammage_basis": self.properties.grammage_basis,
            "thickness_kind": self.properties.thickness,
            "thickness_pressure_kpa": self.properties.thickness_pressure_kpa,
            "left_out_remarks": ",".join(self.properties.left_out_remarks),
        }

    def fingerprint(self) -> str:
        """Return a digest that changes when any setting does."""
        text = json.dumps(self.model_dump(mode="json"), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()


class Laboratory:
    """A laboratory's folder: where everything of it stands."""

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
    def inbox(self) -> Path:
        """Where testers' programs and people put exports and logs."""
        return self.root / "inbox"

    @property
    def archive(self) -> Path:
        """Every file as received, under its content hash, never changed."""
        return self.root / "archive"

    @property
    def warehouse(self) -> Path:
        """The working database, written by the night run alone."""
        return self.root / "warehouse.duckdb"

    @property
    def published(self) -> Path:
        """What readers open: the snapshots."""
        return self.root / "published"

    @property
    def lock_file(self) -> Path:
        """Held by the night run while it works."""
        return self.root / ".night.lock"

    def settings(self) -> Settings:
        """Read lab.toml.

        Raises SettingsError when the folder is no laboratory or a key of the file is wrong.
        """
        if not self.settings_file.is_file():
            raise SettingsError(
                f"{self.root} is no laboratory: it has no lab.toml.",
                f"Make one with: sheetlore new-lab {self.root}",
            )
        return checked(Settings, read_toml(self.settings_file), self.settings_file)


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file; raises SettingsError with the line when it is not TOML."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError as error:
        raise SettingsError(f"{path}: is not UTF-8 text ({error.reason}).", "Save it as UTF-8.") from None
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{path}: is not valid TOML: {error}.") from None


def checked(model: type[Model], data: dict[str, Any], path: Path) -> Model:
    """Validate TOML data; raises SettingsError that names file, key, what is wrong and the nearest right key."""
    try:
        return model.model_validate(data)
    except ValidationError as error:
        complaints = "\n".join(_complaint(model, detail, path) for detail in error.errors())
        raise SettingsError(complaints) from None


def _complaint(model: type[BaseModel], detail: ErrorDetails, path: Path) -> str:
    where = ".".join(str(part) for part in detail["loc"])
    if detail["type"] == "extra_forbidden":
        known = _known_keys(model, detail["loc"][:-1])
        return f"{path}: {where}: there is no such key{nearest(str(detail['loc'][-1]), known)}"
    message = detail["msg"].removeprefix("Value error, ")
    given = "" if isinstance(detail["input"], dict) else f" (given: {detail['input']!r})"
    return f"{path}: {where}: {message}{given}"


def nearest(word: str, known: list[str]) -> str:
    """Return ' - did you mean …? Known: …' for a word that is not among the known ones."""
    near = difflib.get_close_matches(word, known, n=1, cutoff=0.5)
    hint = f"; did you mean {near[0]!r}?" if near else "."
    return f"{hint} Known: {', '.join(sorted(known))}." if known else hint


def _known_keys(model: type[BaseModel], location: tuple[int | str, ...]) -> list[str]:
    current: Any = model
    for part in location:
        fields = getattr(current, "model_fields", {})
        # Besides models there are tables whose keys are free: dict[str, model].
        current = fields[part].annotation if part in fields else get_args(current)[-1]
        while get_origin(current) is Annotated:
            current = get_args(current)[0]
    return [field.alias or name for name, field in current.model_fields.items()]
