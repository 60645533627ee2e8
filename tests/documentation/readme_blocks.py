"""The README as data: its chapters and fenced blocks, and what the first line of a block says of it.

The first word of that line is the language. What follows is for the tests, and GitHub does not show it:

- a path, as in ``csv paper-lab/inbox/forming.csv``: the block is the file's content;
- ``edit=PATH``: each ``key = value`` of the block replaces the line of that key in the file;
- ``exit=3``: the exit code of a shell block; without it 0;
- ``not-run``: the block needs what a test does not have, such as Windows; its commands are only parsed;
- ``output``: what the shell block before prints; a line ``…`` stands for any number of lines.
"""

import re
from dataclasses import dataclass
from pathlib import Path

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Block:
    """A fenced block of the README."""

    chapter: str
    line: int
    language: str
    words: tuple[str, ...]
    text: str

    def has(self, word: str) -> bool:
        """Say whether the first line bears a word."""
        return word in self.words

    def value(self, key: str) -> str | None:
        """Return what the first line gives as ``key=value``."""
        return next((word.partition("=")[2] for word in self.words if word.startswith(f"{key}=")), None)

    @property
    def path(self) -> str | None:
        """The file that the block is the content of."""
        return next((word for word in self.words if "/" in word and "=" not in word), None)


def blocks(text: str = README) -> list[Block]:
    """Return all fenced blocks in their order, each with the chapter (``## ``) it stands in."""
    found: list[Block] = []
    chapter, opened, body = "", None, []
    for number, line in enumerate(text.splitlines(), 1):
        if opened is None and line.startswith("## "):
            chapter = line.removeprefix("## ")
        if not line.startswith("```"):
            body.append(line)
        elif opened is None:
            opened, body = (number, line.removeprefix("```").split()), []
        else:
            first, (language, *words) = opened[0], opened[1] or [""]
            found.append(Block(chapter, first, language, tuple(words), "\n".join(body) + "\n"))
            opened = None
    assert opened is None, f"README.md, line {opened[0]}: the block has no end"
    return found


def chapter(title: str) -> str:
    """Return the text of a chapter."""
    found = re.search(rf"^## {re.escape(title)}\n(.*?)(?=^## |\Z)", README, re.S | re.M)
    assert found, f"README.md has no chapter {title!r}"
    return found[1]
