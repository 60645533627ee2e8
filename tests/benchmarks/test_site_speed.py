"""How long the site takes. Nothing is asserted about time; run with: pytest tests/benchmarks --benchmark-only

The laboratory is the demo's with 5,000 sheets, which takes some ten minutes to make and to take in.
"""

import itertools
from datetime import datetime

import pytest

from pipelines.demo import laboratory as demo_laboratory
from pipelines.flows import steps
from pipelines.site import building, reading
from pipelines.site.writing import Folder

SHEETS = 5_000
CHECKED_AT = datetime(2026, 10, 1, 3, 30)


@pytest.fixture(scope="module")
def snapshot(tmp_path_factory):
    """The snapshot of a run with 5,000 sheets."""
    laboratory = demo_laboratory.write(tmp_path_factory.mktemp("site") / "lab", sheets=SHEETS).laboratory
    settings = laboratory.settings_file
    settings.write_text(
        settings.read_text(encoding="utf-8") + "\n[publishing]\npage = false\n", encoding="utf-8"
    )
    return steps.run(laboratory).snapshot


def test_reading_what_the_pages_show(benchmark, snapshot):
    published = benchmark.pedantic(reading.read, (snapshot,), rounds=2)
    assert len(published.all("all_sheet")) == SHEETS


def test_writing_a_site_for_the_first_time(benchmark, snapshot, tmp_path):
    numbers = itertools.count()
    folders = []

    def anew():
        folders.append(Folder(tmp_path / str(next(numbers))))
        return (snapshot, folders[-1], CHECKED_AT), {}

    benchmark.pedantic(building.build, setup=anew, rounds=2)
    assert folders[-1].written > SHEETS


def test_writing_it_again_when_nothing_has_changed(benchmark, snapshot, tmp_path):
    building.build(snapshot, Folder(tmp_path), CHECKED_AT)
    folders = []

    def again():
        folders.append(Folder(tmp_path))
        return (snapshot, folders[-1], CHECKED_AT), {}

    benchmark.pedantic(building.build, setup=again, rounds=2)
    assert folders[-1].written == 0
    assert folders[-1].removed == 0
