"""The tables as they are declared, and what is written about them for people and for programs."""
