"""The path of each page in the site's folder. A name from a file never becomes a path."""

import hashlib
import re
import unicodedata

START, TRIALS, SHEETS, TESTERS, TABLES = (
    "index.html",
    "trials.html",
    "sheets.html",
    "testers.html",
    "dictionary.html",
)


def trial_page(trial: str) -> str:
    """Return the path of a trial's page."""
    return f"trial/{_safe(trial)}.html"


def sheet_page(sheet_id: str) -> str:
    """Return the path of a sheet's page."""
    return f"sheet/{_safe(sheet_id)}.html"


def to_root(page: str) -> str:
    """Return the relative path from a page to the site's folder: ``../`` for each folder of the page."""
    return "../" * page.count("/")


def _safe(name: str) -> str:
    """Return a file name of at most 51 characters for any text: its ASCII letters and digits, and a digest.

    >>> _safe("S-104") == _safe("s-104")
    False
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    readable = re.sub(r"[^a-z0-9]+", "-", plain)[:40].strip("-")
    digest = hashlib.sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:10]
    return f"{readable}-{digest}" if readable else digest
