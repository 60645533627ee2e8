"""Sheetlore: from the exports of a paper laboratory's testers to a trial warehouse."""

from importlib.metadata import version

__version__ = version("sheetlore")
