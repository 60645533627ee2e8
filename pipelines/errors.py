"""Errors for people, and exit codes for programs."""

from enum import IntEnum


class ExitCode(IntEnum):
    """What a command's exit code means."""

    DONE = 0
    FAILED = 1
    WRONG_USAGE = 2
    SOMETHING_HELD = 3
    ANOTHER_RUN_ACTIVE = 4


class SheetloreError(Exception):
    """An error that a person can correct: what is wrong, where, and what to do."""

    exit_code = ExitCode.FAILED

    def __init__(self, what: str, remedy: str = "") -> None:
        super().__init__(f"{what}\n{remedy}" if remedy else what)
        self.what = what
        self.remedy = remedy


class UsageError(SheetloreError):
    """The command was called with wrong arguments."""

    exit_code = ExitCode.WRONG_USAGE


class SettingsError(SheetloreError):
    """A settings file or an export profile is wrong."""

    exit_code = ExitCode.WRONG_USAGE


class AnotherRunActiveError(SheetloreError):
    """Another run is active on the same laboratory."""

    exit_code = ExitCode.ANOTHER_RUN_ACTIVE
