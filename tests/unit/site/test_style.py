"""The style sheet: it declares every colour that a chart uses, for light, dark and print."""

import re
from importlib.resources import files

from pipelines.site.sheet import charts as sheet_charts
from pipelines.site.start import charts as start_charts
from pipelines.site.testers import charts as testers_charts


def test_every_colour_of_a_chart_is_declared_for_light_dark_and_print():
    style = (files("pipelines.site") / "assets" / "style.css").read_text(encoding="utf-8")
    drawn = [chart() for part in (sheet_charts, start_charts, testers_charts) for chart in part.ALL.values()]
    colours = set(re.findall(r"var\((--[\w-]+)\)", str(drawn)))
    assert len(colours) > 5
    for colour in colours - {"--warn"}:
        assert len(re.findall(rf"{colour}:", style)) == 3, colour
    assert len(re.findall("--warn:", style)) >= 2
