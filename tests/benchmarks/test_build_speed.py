"""How long building all tables takes over a million test pieces: CPU seconds of each model, and the peak of memory."""

import resource
import time

import pytest
from million import BARE_AGGREGATES, SHEETS, fill

from pipelines.warehouse import building
from pipelines.warehouse.connection import working
from pipelines.warehouse.jet_to_wire_fit import fit_jet_to_wire
from pipelines.warehouse.statements import models


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    found = tmp_path_factory.mktemp("million") / "warehouse.duckdb"
    with working(found) as connection:
        fill(connection)
    return found


def peak_gb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6


def cpu_seconds(function, *arguments) -> float:
    before = time.process_time()
    function(*arguments)
    return time.process_time() - before


def test_building_all_tables(benchmark, path) -> None:
    """``extra_info`` has the CPU seconds of each model, of all, and of the bare aggregates; and the peak in GB."""
    seconds = {}

    def build() -> None:
        with working(path) as connection:
            seconds["bare aggregates"] = cpu_seconds(
                connection.execute, f"CREATE TEMP TABLE bare AS {BARE_AGGREGATES}"
            )
            for schema in building.model_schemas():
                connection.execute(f"CREATE SCHEMA {schema}")
            for name in models():
                seconds[name] = cpu_seconds(building.build_model, connection, name)
            seconds["jet-to-wire fit"] = cpu_seconds(fit_jet_to_wire, connection)

    benchmark.pedantic(build, rounds=1)
    dearest = dict(sorted(seconds.items(), key=lambda item: -item[1]))
    benchmark.extra_info |= {name: round(each, 2) for name, each in dearest.items()}
    benchmark.extra_info |= {"all": round(sum(seconds.values()), 1), "peak GB": round(peak_gb(), 2)}
    print("\n" + "\n".join(f"{value:8} {name}" for name, value in benchmark.extra_info.items()))
    with working(path) as connection:
        assert connection.execute("SELECT count(*) FROM sheet").fetchone() == (SHEETS,)
