"""Fingerprints of all that decides what a run makes, and which files it must read again. No input or output."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pipelines import __version__
from pipelines.intake.ingestion import READER_VERSION
from pipelines.intake.profiles import Profile
from pipelines.settings import Settings
from pipelines.warehouse import statements, tables
from schemas.marts import marts
from schemas.properties import registry
from schemas.records import KINDS, STORED
from schemas.records.record import ResolvedRecord


@dataclass(frozen=True)
class Fingerprints:
    """Digests that a run stores with what it makes: when one differs, a later run makes it again.

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

    def to_read_again(self, files: Iterable[tuple[str, str | None, str | None, bool]]) -> list[str]:
        """Return the content hashes of the files that must be read again.

        ``files`` are content hash, profile, ``read_under`` and whether the whole file is on hold.
        """
        return [
            file_hash
            for file_hash, profile, read_under, held_whole in files
            if self.must_read_again(profile, read_under, held_whole)
        ]


def take_fingerprints(settings: Settings, profiles: Sequence[Profile]) -> Fingerprints:
    """Return the fingerprints for settings, profiles, the properties in force and this version of Sheetlore."""
    zone = settings.laboratory.time_zone
    read_by_profile = {
        profile.name: _digest(
            READER_VERSION,
            zone,
            profile.fingerprint,
            tables.fingerprint(KINDS[profile.text.record]),
            *([registry().text] if profile.text.record in ("further", "stock") else []),
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
