"""Building the site from a published snapshot."""

import json
from datetime import datetime
from importlib.resources import files
from pathlib import Path

from pipelines.site import chart_scripts, dictionary, links
from pipelines.site.reading import read
from pipelines.site.sheet import page as sheet
from pipelines.site.sheets import page as sheets
from pipelines.site.start import page as start
from pipelines.site.testers import page as testers
from pipelines.site.trial import page as trial
from pipelines.site.trials import page as trials
from pipelines.site.writing import Folder

ASSETS = (
    "style.css",
    "age.js",
    "numbers.js",
    "draw.js",
    "tables.js",
    "filter.js",
    "trial-titles.js",
    "trial.js",
    "sheets-rows.js",
    "sheets.js",
)
NIGHT = "assets/night.js"


def build(snapshot: Path, folder: Folder, checked_at_utc: datetime) -> None:
    """Write the pages of a snapshot into a site's folder; the folder counts the files written, unchanged and removed.

    ``checked_at_utc`` is the time of the last run that found nothing newer in the inbox.
    """
    published = read(snapshot)
    _write_assets(folder)
    folder.write(links.START, start.page(published))
    folder.write(links.TRIALS, trials.page(published))
    folder.write(links.TESTERS, testers.page(published))
    for row in published.all("trial"):
        folder.write(links.trial_page(row["trial"]), trial.page(published, row))
    for row in published.all("sheet"):
        folder.write(links.sheet_page(row["sheet_id"]), sheet.page(published, row))
    folder.write(links.SHEETS, sheets.page(published))
    folder.write(sheets.DATA, sheets.data(published))
    folder.write(links.TABLES, dictionary.page(published))
    folder.keep(NIGHT)
    folder.tidy()
    write_age(folder, snapshot, checked_at_utc)  # last: its presence shows that the other files are complete


def write_age(folder: Folder, snapshot: Path, checked_at_utc: datetime) -> None:
    """Write the script with the snapshot that the pages were made from and the time of the last check."""
    age = {"snapshot": snapshot.name, "checked_at_utc": checked_at_utc.isoformat(timespec="seconds") + "Z"}
    folder.write(NIGHT, f"window.sheetloreNight(\n{json.dumps(age)}\n);\n")


def is_built_from(root: Path, snapshot: Path) -> bool:
    """Return whether the site in the folder ``root`` was made from this snapshot."""
    try:
        built_from = json.loads((root / NIGHT).read_text(encoding="utf-8").splitlines()[1])["snapshot"]
    except (OSError, ValueError, LookupError, TypeError):
        return False
    return bool(built_from == snapshot.name)


def _write_assets(folder: Folder) -> None:
    for name in ASSETS:
        folder.write(f"assets/{name}", (files("pipelines.site") / "assets" / name).read_bytes())
    for name in chart_scripts.NAMES:
        folder.write(f"assets/{name}", chart_scripts.read(name))
