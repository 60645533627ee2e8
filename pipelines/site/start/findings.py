"""What the start page says first: what the newest run took in, and what needs somebody, in words."""

from typing import Any

from pipelines.site.labels import counted, moment, number

Row = dict[str, Any]
Rows = list[Row]


def of_night(nights: Rows, files: Rows) -> str:
    """Say what the newest run took in; ``nights`` the newest first, ``files`` of that run by kind of record."""
    if not nights:
        return "No run has changed anything yet."
    night = nights[0]
    new = sum(row["n_files"] for row in files)
    again = max(night["files_read"] - new, 0)
    said = f"The newest run that changed anything, {moment(night['began_at_utc'])}, found "
    said += counted(new, "new file") if new else "no new file"
    if again:
        said += f" and read {counted(again, 'file')} again"
    return f"{said}, and stored {counted(night['rows_read'], 'row')}. {_of_sheets(nights)}"


def _of_sheets(nights: Rows) -> str:
    sheets = nights[0]["sheets"]
    in_all = f"{number(sheets)} in all"
    if len(nights) == 1:
        return f"It is the first run; the forming logs name {counted(sheets, 'sheet')}."
    more = sheets - nights[1]["sheets"]
    if more > 0:
        return f"{counted(more, 'sheet is', 'sheets are')} new since the run before, {in_all}."
    if more < 0:
        return f"{counted(-more, 'sheet')} fewer than after the run before, {in_all}."
    return f"No sheet is new since the run before; there {'is' if sheets == 1 else 'are'} {in_all}."


def of_held(held: Rows) -> str | None:
    """Say of how many files something is held; None where nothing is."""
    whole = {row["file_hash"] for row in held if row["whole_file"]}
    of_lines = {row["file_hash"] for row in held if not row["whole_file"]}
    parts = []
    if whole:
        parts.append(f"{counted(len(whole), 'file is', 'files are')} held whole")
    if of_lines:
        parts.append(f"lines of {counted(len(of_lines), 'file')} are held")
    said = ", and ".join(parts)
    return said[:1].upper() + said[1:] or None


def of_unmatched(unmatched: Rows) -> str | None:
    """Say how many records wait for the forming log of their sheet; None where none does."""
    if not unmatched:
        return None
    records = sum(row["n_records"] for row in unmatched)
    return (
        f"{counted(records, 'record waits', 'records wait')} for the forming log of "
        f"{counted(len(unmatched), 'sheet')} that no log names"
    )


def of_climate(tests: Rows) -> str | None:
    """Say how many tests were not proven to be made in the chosen atmosphere, and how many of them count."""
    if not tests:
        return None
    off, unverified = (
        sum(row["n_tests"] for row in tests if row["verdict"] == verdict)
        for verdict in ("off_standard", "unverified")
    )
    parts = []
    if off:
        parts.append(f"{counted(off, 'test was', 'tests were')} made outside the chosen atmosphere")
    if unverified:
        within = "within it" if off else "within the chosen atmosphere"
        parts.append(f"{counted(unverified, 'test is', 'tests are')} not proven to be made {within}")
    left_out = sum(row["n_tests"] for row in tests if not row["admitted"])
    them = "it" if off + unverified == 1 else "them"
    ends = {0: f"the settings admit {them} to means", off + unverified: f"means leave {them} out"}
    return ", ".join(parts) + "; " + ends.get(left_out, f"means leave out {number(left_out)} of them")


def of_tanks(fills: Rows) -> str | None:
    """Say how many fillings of tanks carried furnish over or were overdrawn; None where none was."""
    carried = sum(row["carry_over"] for row in fills)
    overdrawn = sum((row["overdrawn_l"] or 0) > 0 for row in fills)
    parts = []
    if carried:
        parts.append(f"{counted(carried, 'tank filling')} may carry another furnish over")
    if overdrawn:
        parts.append(f"of {counted(overdrawn, 'tank filling')} more was drawn than filled in")
    said = "; ".join(parts)
    return said[:1].upper() + said[1:] or None


def of_curves(curves: Rows) -> str | None:
    """Say how many raw curves show something or disagree with the tester; None where none does."""
    if not curves:
        return None
    noticed = sum(row["findings"] is not None for row in curves)
    differing = sum(row["disagreement"] is not None for row in curves)
    parts = []
    if noticed:
        parts.append(f"{counted(noticed, 'raw curve shows', 'raw curves show')} something noticeable")
    if differing:
        parts.append(f"{counted(differing, 'raw curve disagrees', 'raw curves disagree')} with the tester")
    return "; ".join(parts)


def of_runs(nights: Rows, count: str, what: str, one: str) -> str:
    """Say how a count of the runs went; ``nights`` the newest first, ``what`` it counts, ``one`` for a single."""
    newest, oldest = nights[0][count], nights[-1][count]
    highest = max(night[count] for night in nights)
    said = (
        f"{number(newest)} {one if newest == 1 else what} after the newest of {counted(len(nights), 'run')}"
    )
    if highest > max(newest, oldest):
        return f"{said}, {number(oldest)} after the first of them, {number(highest)} at most"
    if newest == oldest:
        return f"{said}, as after the first of them"
    return f"{said}, {number(oldest)} after the first of them"
