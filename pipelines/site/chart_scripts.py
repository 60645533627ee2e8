"""The chart scripts that the build compiled into the package."""

from importlib.resources import files

from pipelines.errors import SheetloreError

NAMES = ("charts.js", "vega.js")


def read(name: str) -> bytes:
    """Return one of the compiled scripts; raises SheetloreError when the installation lacks it."""
    path = files("pipelines.site") / "compiled" / name
    try:
        return path.read_bytes()
    except OSError:
        raise SheetloreError(
            f"The page's chart script is missing from this installation: {path}",
            "Install Sheetlore again, which compiles it: uv sync --reinstall-package sheetlore in a checkout, "
            "pip install --force-reinstall --no-deps . elsewhere.",
        ) from None
