"""How long the responses to the jet-to-wire ratio take: two thousand trials, each a ladder of 24 sheets."""

import pytest

from pipelines.warehouse.connection import working
from pipelines.warehouse.jet_to_wire_fit import fit_jet_to_wire

TRIALS, PROPERTIES = 2_000, 9

TABLES = {
    "sheet": """
        SELECT
            trial || '-' || point || '-' || number AS sheet_id,
            'T' || trial AS trial,
            'point ' || point AS trial_point,
            0.8 + 0.1 * point + 0.002 * random() AS jet_to_wire_ratio
        FROM range($trials) AS a (trial), range(6) AS b (point), range(4) AS c (number)
    """,
    "layer": "SELECT sheet_id, 'pine' AS furnish FROM sheet",
    "sheet_property": """
        SELECT
            sheet_id,
            trial,
            trial_point,
            'MD/CD' AS direction,
            'property ' || number AS property,
            TRUE AS preferred,
            1.4 + 10 * (jet_to_wire_ratio - 1) ** 2 + 0.1 * random() AS value
        FROM sheet, range($properties) AS a (number)
    """,
}


@pytest.fixture
def ladders():
    with working() as connection:
        for table, query in TABLES.items():
            parameters = {"trials": TRIALS, "properties": PROPERTIES}
            used = {name: value for name, value in parameters.items() if f"${name}" in query}
            connection.execute(f"CREATE TABLE main.{table} AS {query}", used)
        yield connection


def test_fitting_the_responses_of_two_thousand_trials(benchmark, ladders):
    benchmark.pedantic(fit_jet_to_wire, (ladders,), rounds=1)
    found = ladders.execute("SELECT outcome, count(*) FROM jet_to_wire_response GROUP BY outcome").fetchall()
    assert found == [("minimum", TRIALS * PROPERTIES)]
