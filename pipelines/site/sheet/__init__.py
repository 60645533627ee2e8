"""The page of a sheet: how it was made, what it is, its curves, its air, and every record of it."""
