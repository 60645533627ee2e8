"""From bytes to validated records: nothing dropped, nothing guessed."""
