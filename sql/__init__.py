"""The SQL statements of the project, one to a file; pipelines/warehouse/statements.py reads them."""
