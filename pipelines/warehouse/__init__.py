"""The only code that opens DuckDB: loading, building, publishing, asking."""
