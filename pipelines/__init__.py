"""Sheetlore: from the exports of a paper laboratory's testers to a trial warehouse."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    __version__: str
else:

    def __getattr__(name: str) -> str:
        """Return the version, which takes longer to look up than most commands need to start."""
        if name == "__version__":
            from importlib.metadata import version

            return version("sheetlore")
        raise AttributeError(name)
