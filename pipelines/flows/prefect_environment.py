"""Environment variables for Prefect, to be set before it is imported."""

import os
from pathlib import Path


def prepare(home: Path) -> None:
    """Give Prefect its own home and turn its telemetry off; variables that the user has set stay."""
    ours = {
        "PREFECT_HOME": str(home),
        "PREFECT_SERVER_ANALYTICS_ENABLED": "false",
        "DO_NOT_TRACK": "1",
        "PREFECT_SERVER_EPHEMERAL_STARTUP_TIMEOUT_SECONDS": "180",
        # The console belongs to the command; flow and task logs go to the server, ours among them.
        "PREFECT_LOGGING_HANDLERS_CONSOLE_LEVEL": "CRITICAL",
        "PREFECT_LOGGING_EXTRA_LOGGERS": "sheetlore",
    }
    for name, value in ours.items():
        os.environ.setdefault(name, value)
    if "PREFECT_API_URL" not in os.environ:
        os.environ.setdefault("PREFECT_SERVER_ALLOW_EPHEMERAL_MODE", "true")
