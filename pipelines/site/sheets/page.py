"""The page of all sheets: the page without rows, and a script with the rows, column by column.

The rows are in a script, because a page opened from a file may load scripts but cannot read files.
"""

import json
from collections.abc import Callable
from datetime import datetime
from typing import Any

from pipelines.site import labels, links
from pipelines.site.figures import plain
from pipelines.site.reading import Published, Rows, distinct
from pipelines.site.rendering import render
from pipelines.site.sheets import findings
from pipelines.site.tables import Column, headed

DATA = "assets/sheets-data.js"
"""The path of the script with the rows."""

_OF_MART = (
    "sheet_id", "trial", "trial_point", "formed_at_utc", "n_layers", "wire_speed_m_min",
    "jet_to_wire_ratio", "highest_line_load_kn_m", "target_grammage_g_m2", "grammage_g_m2",
    "moisture_pct", "thickness_um", "apparent_density_kg_m3", "tensile_index_md_nm_g", "tensile_index_cd_nm_g",
    "tensile_index_md_cd_ratio", "stretch_md_pct", "stretch_cd_pct", "stretch_md_cd_ratio", "tea_index_md_j_g",
    "tea_index_cd_j_g", "tea_index_md_cd_ratio", "tensile_stiffness_index_md_knm_g",
    "tensile_stiffness_index_cd_knm_g", "tensile_stiffness_index_md_cd_ratio", "elastic_modulus_md_gpa",
    "elastic_modulus_cd_gpa", "elastic_modulus_md_cd_ratio",
)  # fmt: skip
_TIMES = ("formed_at_utc",)
_SHOWN_FIRST = {
    "sheet_id", "trial", "trial_point", "formed_at_utc", "furnishes", "jet_to_wire_ratio", "grammage_g_m2",
    "apparent_density_kg_m3", "tensile_index_md_nm_g", "tensile_index_cd_nm_g", "tensile_index_md_cd_ratio",
    "n_pieces", "n_left_out", "remarks",
}  # fmt: skip
_PAGES: dict[str, Callable[[str], str]] = {"sheet_id": links.sheet_page, "trial": links.trial_page}


def page(published: Published) -> str:
    """Return the page of all sheets."""
    return render(
        "sheets",
        links.SHEETS,
        published.all("setting")[0],
        finding=findings.of_sheets(published.all("all_sheet")),
    )


def data(published: Published) -> str:
    """Return the script with the rows of the statement ``all_sheet``, in its order."""
    rows = published.all("all_sheet")
    typical = published.typical_uncertainty("sheet")
    columns = [_packed(column, rows, typical.get(column.name)) for column in _columns()]
    table = {"count": len(rows), "columns": columns}
    return f'"use strict";\nwindow.sheetloreSheets = {json.dumps(table, separators=(",", ":"))};\n'


def _columns() -> list[Column]:
    return [
        *headed("sheet", _OF_MART),
        Column("n_pieces", "Valid test pieces", number=True),
        Column("n_left_out", "Left out", number=True),
        Column("remarks", "Remarks", long=True),
        *headed("sheet", ("furnishes", "drying_restraints"), long=("furnishes",)),
    ]


def _packed(column: Column, rows: Rows, uncertainty: float | None) -> dict[str, Any]:
    """Return a column for the script: numbers, times as seconds since 1970 in UTC, or each text once.

    The numbers are not rounded, for the download; ``decimals`` says how many decimals the table shows.
    """
    name = column.name
    head = {"name": name, "heading": column.heading, "long": column.long, "shown": name in _SHOWN_FIRST}
    if column.number:
        values = [plain(row[name]) for row in rows]
        decimals = labels.decimals((row[name] for row in rows), uncertainty)
        return head | {"kind": "number", "decimals": decimals, "values": values}
    if name in _TIMES:
        times = [row[name] for row in rows]
        return head | {
            "kind": "time",
            "values": [_seconds(time) for time in times],
            "offsets": [_offset_s(time) for time in times],
        }
    texts = distinct(rows, name)
    places = {text: place for place, text in enumerate(texts)}
    coded = head | {"kind": "text", "texts": texts, "places": [places.get(row[name]) for row in rows]}
    if name in _PAGES:
        coded["pages"] = [_PAGES[name](text) for text in texts]
    return coded


def _seconds(moment: datetime | None) -> int | None:
    return None if moment is None else int(moment.timestamp())


def _offset_s(moment: datetime | None) -> int:
    """Return the laboratory's offset from UTC in seconds at a time."""
    offset = moment.utcoffset() if moment else None
    return int(offset.total_seconds()) if offset else 0
