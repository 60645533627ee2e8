"""The context of a run: its laboratory, and settings, profiles and properties as they were when the run began."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pipelines.flows.fingerprints import Fingerprints, take_fingerprints
from pipelines.intake.profiles import Profile, load_profiles
from pipelines.settings import Laboratory, Settings
from schemas.properties import Registry, in_force


@dataclass(frozen=True)
class RunContext:
    """One run on one laboratory: what every step needs to know.

    Settings, profiles and properties are read once. A change to them while the run goes counts from the next run on.
    """

    laboratory: Laboratory
    name: str
    began_at_utc: datetime
    settings: Settings
    profiles: tuple[Profile, ...]
    registry: Registry
    fingerprints: Fingerprints

    @property
    def database(self) -> Path:
        """The copy of the warehouse that the run works on."""
        return self.laboratory.root / "warehouse.run.duckdb"


def read_context(laboratory: Laboratory) -> RunContext:
    """Read what a run works with that begins now; raises SettingsError for faults in settings, profiles, properties."""
    registry = laboratory.registry()
    with in_force(registry):
        settings, profiles = laboratory.settings(), tuple(load_profiles(laboratory.exports))
        fingerprints = take_fingerprints(settings, profiles)
    began = datetime.now(UTC).replace(tzinfo=None)
    name = f"{began:%Y-%m-%dT%H-%M-%S}-{began.microsecond // 1000:03d}Z"
    return RunContext(laboratory, name, began, settings, profiles, registry, fingerprints)
