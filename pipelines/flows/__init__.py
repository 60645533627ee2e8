"""Prefect flows and the plain steps they run: order, retries, reporting; no computation."""
