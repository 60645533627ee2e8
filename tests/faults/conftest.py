"""Laboratories after their first and second run, made once for all workers; tests work on copies."""

import pytest
import small_exports

from pipelines.flows import steps


@pytest.fixture(scope="session")
def _first_run(made_once):
    def make(folder):
        laboratory = small_exports.make(folder / "lab", small_exports.first_exports())
        report = steps.run(laboratory)
        assert report.night["rows_loaded"] == 3 + 6 + 6 + 9 + 6
        assert not report.something_held
        return laboratory

    return made_once("first", make)


@pytest.fixture(scope="session")
def _second_run(_first_run, made_once):
    def make(folder):
        laboratory = small_exports.copy(_first_run, folder / "lab")
        small_exports.put_second(laboratory)
        steps.run(laboratory)
        return laboratory

    return made_once("second", make)


@pytest.fixture
def first_run(_first_run, tmp_path):
    """A laboratory after its first run, with nothing new in the inbox."""
    return small_exports.copy(_first_run, tmp_path / "first")


@pytest.fixture(scope="session")
def marts_of_first_run(_first_run):
    return small_exports.marts(_first_run)


@pytest.fixture
def second_run(_second_run, tmp_path):
    """A laboratory after its second run."""
    return small_exports.copy(_second_run, tmp_path / "second")


@pytest.fixture(scope="session")
def marts_of_second_run(_second_run):
    return small_exports.marts(_second_run)
