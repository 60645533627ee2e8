"""Pure functions, arrays in and arrays out."""
