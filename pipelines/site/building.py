"""Building the site from a published snapshot."""

from datetime import datetime
from importlib.resources import files
from pathlib import Path

from pipelines.site import charts, links
from pipelines.site.reading import read
from pipelines.site.sheets import page as sheets
from pipelines.site.start import page as start
from pipelines.site.trial import page as trial
from pipelines.site.trials import page as trials
from pipelines.site.writing import Folder

ASSETS = ("style.css", "age.js", "draw.js", "tables.js", "filter.js", "sheets-rows.js", "sheets.js")


def build(snapshot: Path, root: Path, checked_at_utc: datetime) -> Folder:
    """Bring the site in the folder ``root`` up to date with a snapshot; returns what was written, left and removed."""
    folder = Folder(root)
    published = read(snapshot)
    _write_assets(folder)
    folder.write(links.START, start.page(published))
    folder.write(links.TRIALS, trials.page(published))
    for row in published.all("trial"):
        folder.write(links.trial_page(row["trial"]), trial.page(published, row))
    folder.write(links.SHEETS, sheets.page(published))
    folder.write(sheets.DATA, sheets.data(published))
    write_age(folder, checked_at_utc)
    folder.tidy()
    return folder


def write_age(folder: Folder, checked_at_utc: datetime) -> None:
    """Write the one small script that tells the pages when they were last checked; all else stays as it is."""
    folder.write(
        "assets/night.js", f'window.sheetloreNight("{checked_at_utc.isoformat(timespec="seconds")}Z");\n'
    )


def _write_assets(folder: Folder) -> None:
    for name in ASSETS:
        folder.write(f"assets/{name}", (files("pipelines.site") / "assets" / name).read_bytes())
    folder.write("assets/charts.js", charts.script())
    libraries = "assets/vega.js"
    if _first_line(folder.root / libraries) == charts.libraries_stamp():
        folder.keep(libraries)
    else:
        folder.write(libraries, charts.libraries())


def _first_line(path: Path) -> str | None:
    if not path.is_file():
        return None
    with path.open(encoding="utf-8") as stream:
        return stream.readline().rstrip("\n")
