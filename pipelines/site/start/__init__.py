"""The start page: what came in, what needs somebody, and what is newest."""
