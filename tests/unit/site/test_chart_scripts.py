"""The chart scripts that the build compiles."""

import pytest

from pipelines.errors import SheetloreError
from pipelines.site import chart_scripts, charts


def test_the_compiled_scripts_are_those_of_the_charts():
    """If they differ, the installation is older than the charts: uv sync --reinstall-package sheetlore."""
    made = charts.scripts()
    assert sorted(made) == sorted(chart_scripts.NAMES)
    for name in chart_scripts.NAMES:
        assert chart_scripts.read(name).decode() == made[name]


def test_a_missing_script_says_how_to_install_again(monkeypatch, tmp_path):
    monkeypatch.setattr(chart_scripts, "files", lambda package: tmp_path)
    with pytest.raises(SheetloreError) as missing:
        chart_scripts.read("charts.js")
    assert str(tmp_path / "compiled" / "charts.js") in missing.value.what
    assert "uv sync --reinstall-package sheetlore" in missing.value.remedy
