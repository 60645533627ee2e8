"""All charts of the site in one script: a page gives the name of a chart and its rows, never the chart itself.

Only the build imports this module (build_hook.py). The site uses the compiled scripts (chart_scripts.py).
"""

import json
from importlib.metadata import version

import vl_convert

from pipelines.site.sheet import charts as sheet_charts
from pipelines.site.start import charts as start_charts
from pipelines.site.testers import charts as testers_charts
from pipelines.site.trial import charts as trial_charts

ALL = sheet_charts.ALL | start_charts.ALL | testers_charts.ALL | trial_charts.ALL
"""Every chart by the name that figures use."""


def scripts() -> dict[str, str]:
    """Return the scripts that draw the charts of the pages, by file name."""
    return {"charts.js": _charts(), "vega.js": _libraries()}


def _charts() -> str:
    """Return the script that defines all charts as Vega-Lite."""
    specs = {name: chart() for name, chart in ALL.items()}
    return f'"use strict";\nwindow.sheetloreCharts = {json.dumps(specs, sort_keys=True)};\n'


def _libraries() -> str:
    """Return Vega, Vega-Lite and Vega-Embed as vl-convert ships them, as a script that works from a file share."""
    vega, embed = vl_convert.get_vega_version(), vl_convert.get_vega_embed_version()
    lite, convert = vl_convert.get_vegalite_versions()[-1], version("vl-convert-python")
    versions = f"vega {vega}, vega-lite {lite}, vega-embed {embed}, as vl-convert {convert} ships them"
    bundle = vl_convert.javascript_bundle()  # type: ignore[call-arg]  # its stub asks for a snippet
    # A function keeps the names of the bundle out of the global scope; the bundle sets window.vegaEmbed.
    return f"/* {versions} */\n(function () {{\n{bundle}\n}})();\n"
