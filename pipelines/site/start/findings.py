"""The sentences of the start page: what to do, what the last run did, and the next steps of a new laboratory."""

from typing import Any

from pipelines.site.labels import counted, moment, number

Row = dict[str, Any]
Rows = list[Row]

CLIMATE_REMEDIES = {
    "no_test_time": "Export the time of each test and run again.",
    "no_time_of_day": "Export the time of day with the date and run again.",
    "no_conditioning": "Add the stay in the conditioning log, or test again after conditioning.",
    "taken_out": "Correct the conditioning log, or test again in the room.",
    "several_rooms": "Correct the conditioning log: a sheet is in one room at a time.",
    "wet_side": "Precondition on the dry side and test again.",
    "stay_too_short": "Condition for the required hours and test again.",
    "temperature_out": "Test again when the room's temperature is within its limits.",
    "humidity_out": "Test again when the room's humidity is within its limits.",
    "no_climate_record": "Add the room's climate log for that time.",
    "climate_gap": "Add the missing readings of the room's climate log, or test again.",
    "no_preconditioning": "Add the preconditioning to the conditioning log.",
}
"""Remedy for each reason of an atmosphere verdict."""


def next_steps(run: Row | None, tests: Rows, climate: Rows) -> list[str]:
    """Return what to do next in a laboratory without results; an empty list if it has results.

    ``run`` is the last run, ``tests`` are the rows of ``start_test``, ``climate`` those of ``start_climate``.
    """
    if run is None or not any(run[name] for name in ("rows_loaded", "rows_held", "files_held")):
        return [
            "Copy the forming log and the testers' exports into the folder inbox.",
            "Run: sheetlore nightly",
        ]
    steps = []
    if not run["rows_loaded"]:
        steps.append("Nothing is imported yet: every file or line is on hold. Follow the remedies below.")
    if not run["sheets"]:
        steps.append("Add the forming log: results count once it names their sheets.")
    if tests and not any(row["n_valid"] for row in tests) and any(not row["admitted"] for row in climate):
        steps.append(
            "No result is valid. Add the rooms' climate logs and the conditioning log. A laboratory without them "
            'admits unverified tests in lab.toml: admitted = ["standard", "unverified"] under [atmosphere].'
        )
    return steps


def of_tests(left: Rows) -> str | None:
    """Say how many sheets of open trials have tests left to do; None if all are done."""
    if not left:
        return None
    sheets = len({row["sheet_id"] for row in left})
    return f"{counted(sheets, 'sheet')} of open trials {'has' if sheets == 1 else 'have'} tests missing or too few"


def of_held(held: Rows) -> str | None:
    """Say how many files and lines are on hold; None if nothing is."""
    files = sum(row["n_held"] for row in held if row["whole_file"])
    lines = sum(row["n_held"] for row in held if not row["whole_file"])
    parts = [
        counted(count, noun) for count, noun in ((files, "file"), (lines, "line")) if count
    ]  # a whole file counts once
    return f"{' and '.join(parts)} {'is' if files + lines == 1 else 'are'} on hold" if parts else None


def of_unmatched(unmatched: Rows) -> str | None:
    """Say how many results have an unknown sheet number; None if none has."""
    if not unmatched:
        return None
    records = sum(row["n_records"] for row in unmatched)
    return (
        f"{counted(records, 'result has', 'results have')} an unknown sheet number "
        f"({counted(len(unmatched), 'number')})"
    )


def of_climate(tests: Rows) -> str | None:
    """Say how many tests are left out of the means because of their atmosphere; None if none is."""
    left_out = [row for row in tests if not row["admitted"]]
    parts = [
        f"{counted(count, 'test')} {text}"
        for verdict, text in (
            ("off_standard", "outside the standard atmosphere"),
            ("unverified", "without a complete climate record"),
        )
        if (count := sum(row["n_tests"] for row in left_out if row["verdict"] == verdict))
    ]
    return f"{' and '.join(parts)}; not in the means" if parts else None


def of_admitted(tests: Rows) -> str | None:
    """Say how many tests outside the standard atmosphere or unverified are in the means; None if none is."""
    count = sum(row["n_tests"] for row in tests if row["admitted"])
    if not count:
        return None
    return (
        f"{counted(count, 'more test counts', 'more tests count')} in the means because the settings admit "
        f"{'its verdict' if count == 1 else 'their verdicts'}. Nothing to do."
    )


def of_tanks(fills: Rows) -> str | None:
    """Say how many tank fillings have carry-over or were overdrawn; None if none."""
    carried = sum(row["carry_over"] for row in fills)
    overdrawn = sum((row["overdrawn_l"] or 0) > 0 for row in fills)
    parts = []
    if carried:
        parts.append(f"{counted(carried, 'tank filling')} may contain the furnish before")
    if overdrawn:
        parts.append(f"{counted(overdrawn, 'tank filling')} supplied more than was filled in")
    return " and ".join(parts) or None


def of_curves(curves: Rows) -> str | None:
    """Say how many raw curves have findings or disagree with the tester; None if none does."""
    noticed = sum(row["findings"] is not None for row in curves)
    differing = sum(row["disagreement"] is not None for row in curves)
    parts = []
    if noticed:
        parts.append(f"{counted(noticed, 'raw curve')} to look at")
    if differing:
        parts.append(f"{counted(differing, 'raw curve disagrees', 'raw curves disagree')} with the tester")
    return " and ".join(parts) or None


def of_last_run(runs: Rows) -> str:
    """Say what the last run did; ``runs`` are the rows of ``night``, the newest first."""
    if not runs:
        return "No run yet."
    run = runs[0]
    done = [
        counted(run[name], one) + status
        for name, one, status in (
            ("rows_imported", "line", " imported"),
            ("curves_imported", "raw curve", " imported"),
            ("files_put_on_hold", "file", " on hold"),
            ("lines_held", "line", " on hold"),
            ("lines_repeated", "line", " repeated"),
            ("lines_superseded", "line", " superseded"),
        )
        if run[name]
    ]
    new = run["files_new"] or 0
    again = max(run["files_read"] - new, 0)
    read = [counted(new, "new file") if new else "no new file"]
    read += [f"{counted(again, 'file')} read again"] if again else []
    return f"Run of {moment(run['began_at_utc'])}: " + ", ".join([*read, *done]) + "."


def of_totals(runs: Rows) -> str | None:
    """Say what the laboratory has after the last run, and how many sheets it gained since the run before."""
    if not runs:
        return None
    run = runs[0]
    text = f"In all: {counted(run['sheets'], 'sheet')}, {counted(run['test_pieces'], 'tensile test piece')}."
    if len(runs) > 1 and (more := run["sheets"] - runs[1]["sheets"]):
        change = counted(abs(more), "sheet")
        text += f" {change} {'more' if more > 0 else 'fewer'} than after the run before."
    return text


def of_runs(runs: Rows, count: str, what: str, one: str) -> str:
    """Say how a count changed over the runs, the newest first; ``what`` and ``one`` are its plural and singular."""
    newest, oldest = runs[0][count], runs[-1][count]
    highest = max(run[count] for run in runs)
    text = f"{number(newest)} {one if newest == 1 else what} after the newest of {counted(len(runs), 'run')}"
    if highest > max(newest, oldest):
        return f"{text}, {number(oldest)} after the first, {number(highest)} at most"
    if newest == oldest:
        return f"{text}, as after the first"
    return f"{text}, {number(oldest)} after the first"
