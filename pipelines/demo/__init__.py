"""The invented demo laboratory: a simulator with known truth."""
