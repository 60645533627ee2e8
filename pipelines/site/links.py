"""Where each page stands in the site's folder, as relative paths. A name from outside never becomes a path."""

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
    """Return what leads from a page to the site's folder: nothing, or ``../`` for each folder it stands in."""
    return "../" * page.count("/")


def _safe(name: str) -> str:
    """Return a file name for any text: its plain letters for people, a digest so that no two are the same.

    >>> _safe("S-104") == _safe("s-104")
    False
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    readable = re.sub(r"[^a-z0-9]+", "-", plain)[:40].strip("-")
    digest = hashlib.sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:10]
    return f"{readable}-{digest}" if readable else digest
