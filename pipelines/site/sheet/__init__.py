"""The page of a sheet: charts, properties, forming, pressing, drying, and the imported records."""
