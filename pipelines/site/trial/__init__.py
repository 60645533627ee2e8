"""The page of a trial: its charts and tables."""
