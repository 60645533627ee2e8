"""Build hook: compile the charts, so that an installation needs neither Altair nor vl-convert.

Hatch runs it for wheels and for editable installs. Its output is package data and is not committed.
"""

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

COMPILED = "pipelines/site/compiled"


class ChartsHook(BuildHookInterface):  # type: ignore[misc]  # hatchling is only installed while a wheel is built
    """Write the charts as Vega-Lite, and the Vega libraries, to pipelines/site/compiled."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile the charts and add them to the build."""
        sys.path.insert(0, self.root)
        try:
            from pipelines.site import charts
        finally:
            sys.path.remove(self.root)
        folder = Path(self.root, COMPILED)
        folder.mkdir(exist_ok=True)
        for name, script in charts.scripts().items():
            unfinished = folder / f"{name}.unfinished"
            unfinished.write_text(script, encoding="utf-8", newline="\n")
            unfinished.replace(folder / name)
        build_data["artifacts"].append(f"/{COMPILED}/*.js")
