"""The picture at the head of README.md is drawn by its script, and stays small."""

import struct
from pathlib import Path

import pytest
from picture import PICTURE, WIDTH, draw
from readme_blocks import README


def size(picture: Path) -> tuple[int, int]:
    """Return width and height, as a PNG's head has them."""
    head = picture.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    return struct.unpack(">II", head[16:])


def test_the_readme_shows_it() -> None:
    assert f"]({PICTURE.relative_to(PICTURE.parents[2]).as_posix()})" in README
    assert PICTURE.stat().st_size < 200_000
    assert size(PICTURE)[0] == WIDTH


@pytest.mark.browser
@pytest.mark.slow
def test_its_script_draws_it(demo_copy, tmp_path: Path) -> None:
    draw(demo_copy.site, tmp_path / "again.png")
    width, height = size(tmp_path / "again.png")
    assert (width, PICTURE.stat().st_size < 200_000) == (WIDTH, True)
    assert height == pytest.approx(size(PICTURE)[1], rel=0.2)
