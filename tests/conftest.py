"""What tests of several folders share: the demo laboratory after its first run, small laboratories, the commands.

pytest runs the tests in parallel, one worker process per core. The demo laboratory is made once and read by all
workers (``made_once``); a test that changes anything works on ``demo_copy``.
"""

import contextlib
import os
import pickle
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock
from hypothesis import settings
from laboratories import DemoNight, SmallLaboratory
from laboratories import demo_night as make_demo_night

from pipelines import cli
from pipelines.flows import steps
from pipelines.settings import Laboratory
from pipelines.warehouse import connection

if "PYTEST_XDIST_WORKER" in os.environ:
    connection.OFFLINE["threads"] = "1"  # one core for each worker

settings.register_profile("no clock", deadline=None)
settings.load_profile("no clock")

EXECUTABLE = Path(sys.executable).with_name("sheetlore")
CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium")
LEFT_OUT = pytest.StashKey[int]()
"""How many browser tests were left out for want of Chromium."""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """Run benchmarks without workers; otherwise let xdist start one per core."""
    return 0 if config.getoption("benchmark_only") else None


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out slow tests unless ``-m`` or a test's full name asks for them, and browser tests without Chromium."""
    named = any("::" in str(argument) for argument in config.invocation_params.args)
    if "slow" not in config.getoption("markexpr") and not named:
        _leave_out("slow", config, items)
    if CHROMIUM is None:
        config.stash[LEFT_OUT] = _leave_out("browser", config, items)


def _leave_out(marker: str, config: pytest.Config, items: list[pytest.Item]) -> int:
    """Deselect the tests that have a marker and return their number."""
    left_out = [item for item in items if item.get_closest_marker(marker)]
    items[:] = [item for item in items if not item.get_closest_marker(marker)]
    config.hook.pytest_deselected(items=left_out)
    return len(left_out)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Tell the main process how many browser tests this worker left out."""
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["left_out"] = session.config.stash.get(LEFT_OUT, 0)


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Take over that number from a worker; all workers collect the same tests."""
    node.config.stash[LEFT_OUT] = getattr(node, "workeroutput", {}).get("left_out", 0)


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Say in one line that browser tests were left out, and how to have them."""
    if count := config.stash.get(LEFT_OUT, 0):
        terminalreporter.write_line(
            f"{count} browser tests left out: no Chromium. Install Debian's package chromium, or set CHROMIUM to the "
            "path of a Chromium."
        )


@dataclass(frozen=True)
class Ended:
    """How a command ended."""

    code: int
    out: str
    err: str


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, Callable[[Path], Any]], Any]:
    """Make something slow once for all workers: the first to ask for its name makes it in a folder of that name.

    The others wait for it and read what it returned, which must be picklable. No test may change the folder.
    """
    own = tmp_path_factory.getbasetemp()
    shared = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own

    def make(name: str, maker: Callable[[Path], Any]) -> Any:
        folder, made = shared / name, shared / f"{name}.pickle"
        with FileLock(shared / f"{name}.lock"):
            if not made.exists():
                shutil.rmtree(folder, ignore_errors=True)  # of a worker that failed
                folder.mkdir()
                made.write_bytes(pickle.dumps(maker(folder)))
        return pickle.loads(made.read_bytes())

    return make


@pytest.fixture(scope="session")
def demo_night(made_once: Callable[..., Any]) -> DemoNight:
    return made_once("demo", make_demo_night)


@pytest.fixture
def demo_copy(demo_night: DemoNight, tmp_path: Path) -> Laboratory:
    return Laboratory(shutil.copytree(demo_night.laboratory.root, tmp_path / "demo-copy"))


@pytest.fixture
def small(tmp_path: Path) -> SmallLaboratory:
    return SmallLaboratory(tmp_path / "small")


@pytest.fixture(scope="session")
def _small_after_run(made_once: Callable[..., Any]) -> Path:
    def make(folder: Path) -> Path:
        laboratory = SmallLaboratory(folder / "lab")
        laboratory.readings("1.csv", "S1,1,100,AB")
        steps.run(laboratory)
        return laboratory.root

    return made_once("small", make)


@pytest.fixture
def small_after_run(_small_after_run: Path, tmp_path: Path) -> SmallLaboratory:
    """A small laboratory after its first run, which imported one reading of sheet S1, at position 1."""
    return SmallLaboratory(shutil.copytree(_small_after_run, tmp_path / "small"))


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Ended]:
    """Run a command in this process, which is quick, and return how it ended."""

    def run(*arguments: object) -> Ended:
        monkeypatch.setattr(sys, "argv", ["sheetlore", *map(str, arguments)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            cli.main()
        return Ended(int(ended.value.code or 0), *capsys.readouterr())

    return run


@pytest.fixture
def process() -> Callable[..., subprocess.CompletedProcess[str]]:
    """Run a command as a process of its own, without a terminal, and return how it ended."""

    def run(*arguments: object, **environment: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [EXECUTABLE, *map(str, arguments)],
            capture_output=True,
            encoding="utf-8",
            env=os.environ | environment,
            timeout=300,
        )

    return run


@pytest.fixture
def locked() -> Callable[[Laboratory], contextlib.AbstractContextManager[None]]:
    """Hold a laboratory's lock in another process, as an active run does."""

    @contextlib.contextmanager
    def hold(laboratory: Laboratory) -> Iterator[None]:
        code = (
            "import sys; from filelock import FileLock\n"
            "with FileLock(sys.argv[1]): print('held', flush=True); sys.stdin.read()"
        )
        with subprocess.Popen(
            [sys.executable, "-c", code, laboratory.lock_file],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        ) as holder:  # fmt: skip
            assert holder.stdout is not None
            assert holder.stdout.readline() == "held\n"
            yield

    return hold
