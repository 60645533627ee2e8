"""The demo laboratory, invented: a simulator whose true values are known."""
