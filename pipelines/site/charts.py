"""All charts of the site in one script: pages name them and hand them rows, so that no page carries a chart itself."""

import json
from functools import cache
from importlib.metadata import version

import vl_convert

from pipelines.site.sheet import charts as sheet_charts
from pipelines.site.start import charts as start_charts
from pipelines.site.testers import charts as testers_charts
from pipelines.site.trial import charts as trial_charts

ALL = sheet_charts.ALL | start_charts.ALL | testers_charts.ALL | trial_charts.ALL
"""Every chart, by the name that figures call it."""


@cache
def script() -> str:
    """Return the script that defines all charts as Vega-Lite."""
    specs = {name: chart() for name, chart in ALL.items()}
    return f'"use strict";\nwindow.sheetloreCharts = {json.dumps(specs, sort_keys=True)};\n'


def libraries_stamp() -> str:
    """Return the first line of the script with Vega, Vega-Lite and Vega-Embed: the versions it was made from."""
    vega, embed = vl_convert.get_vega_version(), vl_convert.get_vega_embed_version()
    lite, convert = vl_convert.get_vegalite_versions()[-1], version("vl-convert-python")
    return f"/* vega {vega}, vega-lite {lite}, vega-embed {embed}, as vl-convert {convert} ships them */"


@cache
def libraries() -> str:
    """Return Vega, Vega-Lite and Vega-Embed as vl-convert ships them, as a script that works from a file share."""
    bundle = vl_convert.javascript_bundle()  # type: ignore[call-arg]  # its stub asks for a snippet
    # Within a function the names of the bundle are its own; it sets window.vegaEmbed.
    return f"{libraries_stamp()}\n(function () {{\n{bundle}\n}})();\n"
