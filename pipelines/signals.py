"""Ctrl-C and SIGTERM: while modules load they end the process at once, afterwards they raise ``Stopped``."""

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import NoReturn

STOPPED = "Stopped. A run that has not finished changes nothing."

_SIGNALS = (signal.SIGINT, signal.SIGTERM)


class Stopped(KeyboardInterrupt):
    """A signal stops the command."""

    def __init__(self, number: int) -> None:
        super().__init__(STOPPED)
        self.number = number


@contextmanager
def heard() -> Iterator[None]:
    """Raise ``Stopped`` on both signals within the block, so that it cleans up."""
    with _handled_by(_raise):
        yield


@contextmanager
def loading() -> Iterator[None]:
    """End the process on both signals within the block, which only imports modules.

    An exception there would become an ImportError, or a traceback that a C module prints.
    """
    with _handled_by(_end_at_once):
        yield


def end(stop: KeyboardInterrupt) -> NoReturn:
    """Say in one line that the command is stopped, and end with the shell's exit code for the signal."""
    print(STOPPED, file=sys.stderr)
    raise SystemExit(128 + (stop.number if isinstance(stop, Stopped) else signal.SIGINT))


def _raise(number: int, _frame: FrameType | None) -> NoReturn:
    raise Stopped(number)


def _end_at_once(number: int, _frame: FrameType | None) -> NoReturn:
    os.write(2, f"{STOPPED}\n".encode())
    os._exit(128 + number)


@contextmanager
def _handled_by(handler: Callable[[int, FrameType | None], object]) -> Iterator[None]:
    before = {}
    if threading.current_thread() is threading.main_thread():  # only there Python lets handlers be set
        for number in _SIGNALS:
            if (
                signal.getsignal(number) is not signal.SIG_IGN
            ):  # as a shell sets it for what runs in the background
                before[number] = signal.signal(number, handler)
    try:
        yield
    finally:
        for number, earlier in before.items():
            signal.signal(number, earlier)
