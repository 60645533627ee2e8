"""Writing the site's folder: only changed files, each complete, and old files removed."""

import os
from pathlib import Path

import pytest

from pipelines.site import building, links
from pipelines.site.writing import Folder

OLD = 1_000_000_000
HOSTILE = (
    "../../etc/passwd",
    "/root",
    "..",
    ".",
    "",
    "a/b\\c",
    "con",
    "x" * 500,
    "\ud800",
    "<img>",
    "ä ö\n",
    "-rf",
)


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return tmp_path / "site"


def made(root: Path, **pages: str) -> Folder:
    """Write a folder with only these pages."""
    folder = Folder(root)
    for name, content in pages.items():
        folder.write(f"{name}.html", content)
    folder.tidy()
    return folder


def counts(folder: Folder) -> tuple[int, int, int]:
    return folder.written, folder.unchanged, folder.removed


def test_unchanged_files_are_not_rewritten(root):
    made(root, one="1", two="2")
    for path in root.iterdir():
        os.utime(path, (OLD, OLD))
    assert counts(made(root, one="1", two="3")) == (1, 1, 0)
    assert (root / "one.html").stat().st_mtime == OLD
    assert (root / "two.html").stat().st_mtime > OLD
    assert (root / "two.html").read_text() == "3"


def test_other_bytes_of_the_same_length_are_a_change(root):
    made(root, one="abc")
    assert counts(made(root, one="abd")) == (1, 0, 0)
    assert (root / "one.html").read_text() == "abd"


def test_a_page_that_is_gone_is_removed(root):
    made(root, one="1", two="2")
    assert counts(made(root, one="1")) == (0, 1, 1)
    assert [path.name for path in root.iterdir()] == ["one.html"]


def test_a_kept_file_is_not_changed(root):
    made(root, one="1")
    folder = Folder(root)
    folder.keep("one.html")
    folder.tidy()
    assert counts(folder) == (0, 0, 0)
    assert (root / "one.html").read_text() == "1"


def test_an_interrupted_write_leaves_the_old_page_and_its_remains_are_removed(root, monkeypatch):
    made(root, one="old")

    def fails(*arguments):
        raise OSError("no space left")

    monkeypatch.setattr(Path, "replace", fails)
    with pytest.raises(OSError, match="no space left"):
        made(root, one="new, and longer")
    assert (root / "one.html").read_text() == "old"
    monkeypatch.undo()
    made(root, one="new, and longer")
    assert [path.name for path in root.iterdir()] == ["one.html"]
    assert (root / "one.html").read_text() == "new, and longer"


def test_readers_never_see_half_a_page(root, monkeypatch):
    """When the page is replaced, the old file is complete, and so is the new one beside it."""
    made(root, one="old")
    seen = []
    replace = Path.replace

    def looking(self, target):
        seen.append((target.read_text(), self.read_text()))
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", looking)
    made(root, one="new")
    assert seen == [("old", "new")]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_stays_within_the_folder(root, name):
    folder = Folder(root)
    folder.write(links.sheet_page(name), "text")
    folder.write(links.trial_page(name), "text")
    (sheet,), (trial,) = (root / "sheet").iterdir(), (root / "trial").iterdir()
    assert sheet.resolve().parent == (root / "sheet").resolve()
    assert trial.resolve().parent == (root / "trial").resolve()
    assert sorted(path.name for path in root.parent.iterdir()) == ["site"]


def test_text_that_cannot_be_encoded_is_escaped(root):
    made(root, one="lone surrogate \ud800")
    assert (root / "one.html").read_bytes() == b"lone surrogate \\ud800"


@pytest.mark.parametrize(
    "content", [None, "", "x", "x\n[]\n", "x\nnull\n", "x\n{}\n", 'x\n{"snapshot": 3}\n']
)
def test_a_site_without_a_readable_snapshot_name_is_rebuilt(tmp_path, content):
    if content is not None:
        (tmp_path / "assets").mkdir()
        (tmp_path / "assets" / "night.js").write_text(content)
    assert not building.is_built_from(tmp_path, tmp_path / "sheetlore-1.duckdb")
