"""What the ledger records of files, and which files a run must read again: decisions without input or output."""

from pathlib import Path

import pytest

from pipelines.flows.fingerprints import Fingerprints
from pipelines.flows.ledger_rows import Arrival, received_rows, sighting_rows
from pipelines.intake.inbox import InboxFile

NOW = Fingerprints({"a": "a now", "b": "b now"}, "any now", "built now")


@pytest.mark.parametrize(
    ("profile", "read_under", "held_whole", "again"),
    [
        ("a", "a now", False, False),
        ("a", "a now", True, False),
        ("a", "a before", False, True),
        ("a", "b now", False, True),
        (None, "any now", True, False),
        (None, "any before", True, True),
        ("removed", "removed before", False, False),  # its records stay
        ("removed", "removed before", True, True),  # another profile may match
    ],
)
def test_a_file_is_read_again_when_what_it_was_read_under_changed(profile, read_under, held_whole, again):
    files = [("hash", profile, read_under, held_whole)]
    assert NOW.to_read_again(files) == (["hash"] if again else [])


def arrival(name, file_hash, changed_ns=1_000_000_000):
    return Arrival(InboxFile(Path(name), name, 5, changed_ns), file_hash)


def test_a_content_is_received_once_and_every_name_of_it_is_recorded():
    arrivals = [arrival("a.csv", "new"), arrival("b.csv", "new"), arrival("c.csv", "known")]
    (row,) = received_rows(arrivals, {"known"}, "this run")
    assert (row["file_hash"], row["file_name"], row["received_night"]) == ("new", "a.csv", "this run")
    assert {row["lines"], row["stored"], row["held_at_reading"]} == {0}
    assert [(seen["file_name"], seen["file_hash"]) for seen in sighting_rows(arrivals)] == [
        ("a.csv", "new"),
        ("b.csv", "new"),
        ("c.csv", "known"),
    ]
