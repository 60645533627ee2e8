"""Every command of the README is run as it stands, chapter by chapter; what a test cannot run is parsed."""

import difflib
import re
import shlex
import shutil
from pathlib import Path

import pytest
import typer
from readme_blocks import README, Block, blocks

from pipelines import cli

BLOCKS = blocks()
ONLY_PARSED = [
    block for block in BLOCKS if block.has("not-run") and block.language in ("sh", "powershell", "bat")
]
USAGE_ERROR = typer.BadParameter.__base__
SLOW = (
    "Your own laboratory",
    "Keeping it alive",
    "The page",
    "Every night",
)  # they start Prefect, and many processes
CHAPTERS = [
    pytest.param(title, marks=pytest.mark.slow if title in SLOW else ())
    for title in dict.fromkeys(block.chapter for block in BLOCKS if block.language == "sh")
]
MOVING = {
    r"\d{4}-\d\d-\d\dT\d\d-\d\d-\d\d-\d{3}Z": "TIME-OF-RUN",
    r"\b[0-9a-f]{64}\b": "HASH",
    r"/\S*/(?=(?:demo|paper)-lab\b)": "",
}
"""What differs from run to run or from machine to machine, and what stands for it when outputs are compared."""


def comparable(text: str) -> list[str]:
    """Return the lines of an output without what differs from run to run."""
    for pattern, stand_in in MOVING.items():
        text = re.sub(pattern, stand_in, text)
    return [line.rstrip() for line in text.strip().splitlines()]


def shows(shown: list[str], printed: list[str]) -> bool:
    """Say whether an output is what the README shows, where a line … stands for any lines."""
    pattern = "".join(r"(?:.*\n)*" if line.strip() == "…" else re.escape(line) + r"\n" for line in shown)
    return re.fullmatch(pattern, "\n".join([*printed, ""])) is not None


@pytest.mark.parametrize("title", CHAPTERS)
def test_a_chapter_can_be_followed(title: str, reader, tmp_path: Path) -> None:
    followed = [block for block in BLOCKS if block.chapter == title and not block.has("not-run")]
    if not any("new-lab paper-lab" in block.text for block in followed):
        shutil.copytree(reader.home / "demo-lab", reader.home / "paper-lab")
    printed = ""
    for block in followed:
        reader.write(block)
        if block.language == "sh":
            ended = reader.run(block.text)
            assert ended.returncode == int(block.value("exit") or 0), (
                f"README.md, line {block.line}:\n{block.text}\n{ended.stdout[-2000:]}\n{ended.stderr[-2000:]}"
            )
            printed = ended.stdout
        elif block.has("output"):
            shown, real = comparable(block.text), comparable(printed)
            assert shows(shown, real), f"README.md, line {block.line}, shows\n" + "\n".join(
                difflib.unified_diff(shown, real, "README.md", "printed", lineterm="")
            )


def test_what_is_shown_is_compared_with_what_is_printed() -> None:
    assert shows(["a", "…", "c"], ["a", "b", "b", "c"])
    assert shows(["a", "…", "c"], ["a", "c"])
    assert not shows(["a", "…", "c"], ["a", "c", "d"])
    assert not shows(["a", "c"], ["a", "b", "c"])
    assert comparable("  1 /some/where/demo-lab/published/sheetlore-2026-01-02T03-04-05-006Z.duckdb ") == [
        "1 demo-lab/published/sheetlore-TIME-OF-RUN.duckdb"
    ]


# Commands that no test runs


def uses(text: str) -> list[list[str]]:
    """Return the words of each use of ``sheetlore`` in lines of any shell."""
    found = []
    for line in text.replace('\\"', '"').splitlines():
        if used := re.search(
            r"(?:^|[\s/\\\"])sheetlore(?:\.exe)?\"?\s+(?=[a-z-])(.*)", line.partition("  #")[0]
        ):
            arguments = re.split(r"\s+(?:>|>>|2>|\||;|&&)", used[1])[0].replace("\\", "/")
            found.append(shlex.split(arguments.removesuffix('"') if arguments.count('"') % 2 else arguments))
    return found


def parse(arguments: list[str]) -> None:
    """Parse the words of a command as the command line does, and run nothing."""
    group = typer.main.get_command(cli.app)
    name, command, rest = group.resolve_command(typer.Context(group), arguments)
    try:
        command.make_context(name, rest)
    except typer.Exit:
        assert "--help" in arguments


@pytest.mark.parametrize("block", ONLY_PARSED, ids=lambda block: f"line {block.line}")
def test_commands_that_no_test_runs_have_such_options(block: Block) -> None:
    for arguments in uses(block.text):
        parse(arguments)


def test_commands_in_sentences_have_such_options() -> None:
    prose = re.sub(r"^```.*?^```", "", README, flags=re.S | re.M)
    named = re.findall(r"`sheetlore ([a-z][^`]*)`", prose)
    assert len(named) > 5
    for text in named:
        parse(shlex.split(text))


def test_wrong_commands_are_found() -> None:
    with pytest.raises(USAGE_ERROR):
        parse(["nightly", "--lab", "paper-lab", "--quickly"])
    with pytest.raises(USAGE_ERROR):
        parse(["nightl"])
    assert uses('30 2 * * * "$HOME/.local/bin/sheetlore" nightly --lab "$HOME/a b" >> log 2>&1') == [
        ["nightly", "--lab", "$HOME/a b"]
    ]
    assert uses("uv tool install sheetlore\nuv run sheetlore demo demo-lab   # makes it") == [
        ["demo", "demo-lab"]
    ]


def test_the_two_commands_are_run_before_a_change_lands() -> None:
    first, second = (line.partition("#")[0].strip() for line in BLOCKS[0].text.splitlines())
    checked = (Path(__file__).parents[2] / ".ci" / "run").read_text(encoding="utf-8")
    assert first.startswith("uv run sheetlore demo ") and "uv run sheetlore demo " in checked
    assert second == "uv run pytest" and re.search(r"uv run pytest$", checked, re.M)
