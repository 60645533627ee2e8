"""The index of trials."""
