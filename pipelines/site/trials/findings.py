"""The first sentence of the index of trials."""

from typing import Any

from pipelines.site.labels import counted, number


def of_trials(trials: list[dict[str, Any]]) -> str:
    """Say how many trials there are, and how many of their sheets were tested."""
    if not trials:
        return "No trial yet: trials come from the forming log."
    sheets = sum(row["n_sheets"] for row in trials)
    tested = sum(row["n_tested"] for row in trials)
    points = sum(row["n_points"] for row in trials)
    of_sheets = "all with" if tested == sheets else f"{number(tested)} of them with"
    return (
        f"{counted(len(trials), 'trial')} of {counted(points, 'trial point')} and {counted(sheets, 'sheet')}, "
        f"{of_sheets} valid tensile tests."
    )
