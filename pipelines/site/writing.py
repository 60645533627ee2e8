"""Write the site's folder: only complete files, only changed files, and remove old ones."""

from pathlib import Path


class Folder:
    """A folder of pages that counts files written, unchanged and removed."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.written = 0
        self.unchanged = 0
        self.removed = 0
        self._made: set[Path] = set()

    def write(self, name: str, content: str | bytes) -> None:
        """Write one file if it differs; ``name`` is a path from links.py, relative to the folder."""
        path = self.root / name
        data = content.encode("utf-8", "backslashreplace") if isinstance(content, str) else content
        self._made.add(path)
        if path.is_file() and path.stat().st_size == len(data) and path.read_bytes() == data:
            self.unchanged += 1
            return
        path.parent.mkdir(parents=True, exist_ok=True)
        unfinished = path.with_name(path.name + ".unfinished")
        unfinished.write_bytes(data)
        unfinished.replace(path)
        self.written += 1

    def keep(self, name: str) -> None:
        """Keep a file that other code writes."""
        self._made.add(self.root / name)

    def tidy(self) -> None:
        """Remove the files that were not written or kept, such as the page of a sheet that no longer exists."""
        for path in sorted(self.root.rglob("*"), reverse=True):
            if path.is_file() and path not in self._made:
                path.unlink()
                self.removed += 1
