"""The context of a run: its laboratory, and settings, profiles and properties as they were when the run began."""

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pipelines import __version__
from pipelines.intake.ingestion import READER_VERSION
from pipelines.intake.profiles import Profile, load_profiles
from pipelines.settings import Laboratory, Settings
from pipelines.warehouse import statements, tables
from schemas.marts import marts
from schemas.properties import Registry, in_force, registry
from schemas.records import KINDS, STORED
from schemas.records.record import ResolvedRecord


@dataclass(frozen=True)
class Fingerprints:
    """Digests of all that decides what a run makes, stored with what it makes: when one differs, it is made again.

    ``read_by_profile``: what decides how a file of each profile is read; ``read_by_none``: the same for files that
    match no profile; ``built``: what decides which tables are built from the records.
    """

    read_by_profile: dict[str, str]
    read_by_none: str
    built: str

    def read_under(self, profile: str | None) -> str:
        """Return the fingerprint under which files of a profile are read, or with None files that match no profile."""
        return self.read_by_none if profile is None else self.read_by_profile[profile]

    def must_read_again(self, profile: str | None, read_under: str | None, held_whole: bool) -> bool:
        """Return whether a file must be read again that a run read under a fingerprint.

        When its profile was removed, its records stay; what could not be read looks for another profile.
        """
        if profile is not None and profile not in self.read_by_profile:
            return held_whole
        return self.read_under(profile) != read_under


def fingerprints(settings: Settings, profiles: tuple[Profile, ...]) -> Fingerprints:
    """Return the fingerprints for settings, profiles and this version of Sheetlore."""
    zone = settings.laboratory.time_zone
    read_by_profile = {
        profile.name: _digest(
            READER_VERSION, zone, profile.fingerprint, tables.fingerprint(KINDS[profile.text.record])
        )
        for profile in profiles
    }
    declared = [
        *(tables.fingerprint(model) for model in marts().values()),
        *(tables.fingerprint(model, ResolvedRecord) for model in STORED.values()),
    ]
    own = [profile.fingerprint for profile in profiles]
    built = _digest(
        __version__, registry().text, statements.fingerprint(), settings.fingerprint(), *own, *declared
    )
    return Fingerprints(read_by_profile, _digest(*read_by_profile.values()), built)


def _digest(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


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
        return self.laboratory.root / "warehouse.night.duckdb"


def read_context(laboratory: Laboratory) -> RunContext:
    """Read what a run works with that begins now; raises SettingsError for faults in settings, profiles, properties."""
    of_laboratory = laboratory.registry()
    with in_force(of_laboratory):
        settings, profiles = laboratory.settings(), tuple(load_profiles(laboratory.exports))
        digests = fingerprints(settings, profiles)
    began = datetime.now(UTC).replace(tzinfo=None)
    name = f"{began:%Y-%m-%dT%H-%M-%S}-{began.microsecond // 1000:03d}Z"
    return RunContext(laboratory, name, began, settings, profiles, of_laboratory, digests)
