"""What a table is: the pandera models from which validation, DDL, comments and documents come."""
