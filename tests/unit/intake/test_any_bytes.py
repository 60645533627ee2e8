"""Any bytes in the inbox: no error is raised, every line is accounted for, every line on hold has a rejection.

Exports are damaged as disks, networks and people damage them; random bytes are imported too.
"""

import random
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from intake_cases import ZONE, assert_all_is_accounted_for, file_of, profile

from pipelines.intake.ingestion import ingest
from pipelines.intake.profiles import load_profile, load_profiles

FIXTURES = Path(__file__).parents[3] / "fixtures"
EXPORTS = sorted(FIXTURES.rglob("*.csv"))
PROFILES = [*load_profiles(None), profile(name="plain")]
THOROUGHLY = settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow], deadline=None)


PIECES = (
    b'"', b"'", b";", b",", b"\t", b"\n", b"\r", b"\r\n", b"\0", b"\xff", b"\xef\xbb\xbf", b"nan", b"1e999", b"=1+1",
)  # fmt: skip


def profiles_of(export: Path):
    folder = FIXTURES / export.relative_to(FIXTURES).parts[0]
    return [load_profile(path) for path in sorted(folder.glob("*.toml"))]


def flip(data: bytes, chance: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(chance.randint(1, 5)):
        out[chance.randrange(len(out))] ^= 1 << chance.randrange(8)
    return bytes(out)


def cut(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data))]


def cut_out(data: bytes, chance: random.Random) -> bytes:
    start, end = sorted(chance.choices(range(len(data)), k=2))
    return data[:start] + data[end:]


def put_in(data: bytes, chance: random.Random) -> bytes:
    place = chance.randrange(len(data) + 1)
    return data[:place] + chance.choice(PIECES) * chance.randint(1, 3) + data[place:]


def shuffle_lines(data: bytes, chance: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    chance.shuffle(lines)
    return b"".join(lines)


def repeat_lines(data: bytes, chance: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    return b"".join(line * chance.choice([1, 1, 1, 2, 3]) for line in lines)


def drop_lines(data: bytes, chance: random.Random) -> bytes:
    return b"".join(line for line in data.splitlines(keepends=True) if chance.random() < 0.8)


def append_itself(data: bytes, chance: random.Random) -> bytes:
    return data * 2


def overwrite_with_zeros(data: bytes, chance: random.Random) -> bytes:
    start = chance.randrange(len(data))
    return data[:start] + bytes(min(512, len(data) - start)) + data[start + 512 :]


DAMAGES = [
    flip, cut, cut_out, put_in, shuffle_lines, repeat_lines, drop_lines, append_itself, overwrite_with_zeros,
]  # fmt: skip


@pytest.mark.parametrize("export", EXPORTS, ids=lambda path: path.relative_to(FIXTURES).as_posix())
@pytest.mark.parametrize("damage", DAMAGES, ids=lambda damage: damage.__name__)
def test_a_damaged_export_is_accounted_for(damage, export):
    chance = random.Random(f"{damage.__name__} {export.name}")
    whole, profiles = export.read_bytes(), profiles_of(export)
    damaged = {damage(whole, chance) for _ in range(6)}
    files = [file_of(data, export.name) for data in damaged]
    assert_all_is_accounted_for(ingest(files, profiles, ZONE))


def test_several_kinds_of_damage_in_one_run():
    """Files of all kinds at once, so that good and damaged ones of one profile are read together."""
    chance = random.Random(7)
    profiles = {}
    contents = {}
    for export in EXPORTS:
        for found in profiles_of(export):
            profiles[found.fingerprint] = found
        data = export.read_bytes()
        for _ in range(3):
            damaged = chance.choice(DAMAGES)(data, chance)
            contents[damaged] = export.name
        contents[data] = export.name
    result = ingest([file_of(data, name) for data, name in contents.items()], list(profiles.values()), ZONE)
    assert_all_is_accounted_for(result)
    assert sum(outcome.account.stored for outcome in result.outcomes) > 20
    assert sum(outcome.account.held for outcome in result.outcomes) > 20


@THOROUGHLY
@given(st.binary(max_size=300))
def test_any_bytes_are_held_with_a_reason(data):
    result = ingest([file_of(data)], PROFILES, ZONE)
    assert_all_is_accounted_for(result)
    assert result.outcomes[0].rejections


CELL = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=6),
    st.sampled_from(["A", "1", "90,5", "1.234", "-1", "", " ", '"', '"A"', '"A\nB"', "nan", "inf", "1e400", "−5", "²"]),
)  # fmt: skip
ROW = st.lists(CELL, max_size=6).map(";".join)
BODY = st.lists(st.one_of(ROW, st.tuples(CELL, CELL, CELL, CELL).map(";".join)), max_size=12)


@THOROUGHLY
@given(
    BODY,
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.booleans(),
    st.sampled_from(["utf-8", "utf-16", "utf-8-sig"]),
)
def test_any_rows_under_a_right_header_are_accounted_for(rows, end, complete, encoding):
    text = end.join(["Sheet;Place;Thickness;Note", *rows]) + end * complete
    result = ingest([file_of(text.encode(encoding))], [profile()], ZONE)
    assert_all_is_accounted_for(result)
