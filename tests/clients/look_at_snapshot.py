"""Looks at a snapshot as any program with DuckDB would, without Sheetlore, and prints what it finds as JSON.

Run as ``python look_at_snapshot.py SNAPSHOT`` in an environment that has nothing but some version of duckdb.
"""

import json
import sys

import duckdb

QUESTIONS = {
    "mart": "SELECT count(*), sum(grammage_g_m2) FROM sheet",
    "record table": "SELECT count(*), count(DISTINCT sheet_id), max(tested_at_utc)::VARCHAR FROM records.tensile",
    "macro": "SELECT count(*), max(abs(tensile_index_nm_g(tensile_strength_kn_m, grammage_g_m2) - tensile_index_nm_g)) "
    "< 1e-9 FROM test_piece",
    "join": "SELECT point.trial, count(*), sum(found.value) FROM trial_point AS point INNER JOIN "
    "trial_point_property AS found USING (trial, trial_point) GROUP BY point.trial ORDER BY point.trial",
    "list": "SELECT stay_h FROM setting",
    "comment on a table": "SELECT comment FROM duckdb_tables() WHERE table_name = 'sheet'",
    "comment on a column": "SELECT comment FROM duckdb_columns() "
    "WHERE table_name = 'sheet' AND column_name = 'grammage_g_m2'",
    "comments on macros": "SELECT function_name, comment FROM duckdb_functions() WHERE NOT internal ORDER BY ALL",
    "types": "SELECT DISTINCT data_type FROM duckdb_columns() WHERE NOT internal ORDER BY ALL",
}

if __name__ == "__main__":
    with duckdb.connect(sys.argv[1], read_only=True) as connection:  # noqa: TID251
        found = {name: connection.execute(query).fetchall() for name, query in QUESTIONS.items()}
        try:
            connection.execute("DELETE FROM sheet")
        except duckdb.InvalidInputException as error:
            found["refusal to write"] = [[type(error).__name__]]
    print(json.dumps({"version": duckdb.__version__, "found": found}))
