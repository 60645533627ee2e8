"""Records that contradict their sheet go on hold with their original text; each archived file is read once for them."""

from collections import Counter
from pathlib import Path

from pipelines.flows import steps
from pipelines.warehouse.querying import held_rows

AT = '{ from = "at", format = "%Y-%m-%d %H:%M", zone = "UTC" }'


def with_times(laboratory):
    """Let both profiles of a small laboratory read a time from the column ``at``."""
    for name, quantity in (("small-thickness", "tested_at"), ("small-forming", "formed_at")):
        profile = laboratory.exports / f"{name}.toml"
        profile.write_text(f"{profile.read_text()}{quantity} = {AT}\n")


def put(laboratory, name, header, rows):
    path = laboratory.inbox / name
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


def test_a_file_is_read_once_for_all_its_contradicting_records(small, monkeypatch):
    with_times(small)
    put(small, "log.csv", "sheet,trial,point,remark,at", ["S1,T,P,,2026-09-02 08:00"])
    rows = {name: [f"S1,{n},{n}.5,AB,2026-09-01 08:{n:02d}" for n in spots]
            for name, spots in (("a.csv", range(1, 31)), ("b.csv", range(31, 60)))}  # fmt: skip
    for name, lines in rows.items():
        put(small, name, "sheet,spot,um,who,at", lines)
    reads: Counter[str] = Counter()
    read_bytes = Path.read_bytes

    def counted(path):
        if small.archive in path.parents:
            reads[path.name] += 1
        return read_bytes(path)

    monkeypatch.setattr(Path, "read_bytes", counted)
    report = steps.run(small)
    held = held_rows(report.snapshot)
    assert {row["rule"] for row in held} == {"dated_before_forming"}
    texts = {(row["file_name"], row["line_number"]): row["original_text"] for row in held}
    assert texts == {(name, n): line for name, lines in rows.items() for n, line in enumerate(lines, 2)}
    assert sorted(reads.values()) == [1, 2, 2], (
        "once to import each file, and once for all its contradicting records"
    )
