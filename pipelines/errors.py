"""Errors that a person reads, and the exit codes that a program reads."""

from enum import IntEnum


class ExitCode(IntEnum):
    """What a command's exit code means."""

    ALL_TAKEN_IN = 0
    FAILED = 1
    WRONG_USAGE = 2
    SOMETHING_HELD = 3
    ANOTHER_RUN_ACTIVE = 4


class SheetloreError(Exception):
    """Something a person can mend: what is wrong, where, and what to do about it."""

    exit_code = ExitCode.FAILED

    def __init__(self, what: str, remedy: str = "") -> None:
        super().__init__(f"{what}\n{remedy}" if remedy else what)
        self.what = what
        self.remedy = remedy


class UsageError(SheetloreError):
    """The command was called with something that cannot be."""

    exit_code = ExitCode.WRONG_USAGE


class SettingsError(SheetloreError):
    """A settings file or an export profile says something it must not."""

    exit_code = ExitCode.WRONG_USAGE


class AnotherRunActiveError(SheetloreError):
    """Another night run works on the same laboratory."""

    exit_code = ExitCode.ANOTHER_RUN_ACTIVE
