"""The page of a trial: its charts, its findings in words, and the page itself."""
