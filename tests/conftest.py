"""What tests of several folders share: the demo laboratory with a night run on it, small laboratories, the commands.

The demo laboratory is made once for all; a test that changes anything works on ``demo_copy``.
"""

import contextlib
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from pipelines import cli
from pipelines.demo import laboratory as demo_laboratory
from pipelines.demo.faults import PlantedFault
from pipelines.flows import steps
from pipelines.settings import Laboratory

EXECUTABLE = Path(sys.executable).with_name("sheetlore")

THICKNESS_PROFILE = """\
record = "thickness"
tester = "small micrometer"

[recognise]
header = ["sheet", "spot", "um"]

[dialect]
encoding = "utf-8"
delimiter = ","
decimal = "."

[columns]
sheet_id = "sheet"
position_no = "spot"
sheets_in_pack = { value = 1 }
thickness = { from = "um", unit = "um" }
operator = "who"
"""

FORMING_PROFILE = """\
record = "forming"

[recognise]
header = ["sheet", "trial", "point", "remark"]

[dialect]
encoding = "utf-8"
delimiter = ","

[columns]
sheet_id = "sheet"
trial = "trial"
trial_point = "point"
layer_no = { value = 1 }
note = "remark"
"""


@dataclass(frozen=True)
class DemoNight:
    """The demo laboratory after its first night: where it is, how the night ended, what was planted."""

    laboratory: Laboratory
    report: steps.Report
    faults: tuple[PlantedFault, ...]

    @property
    def snapshot(self) -> Path:
        """The night's snapshot."""
        return self.report.snapshot


@dataclass(frozen=True)
class Ended:
    """How a command ended."""

    code: int
    out: str
    err: str


class SmallLaboratory(Laboratory):
    """A laboratory with a profile for thickness readings and one for a forming log, and an empty inbox."""

    def __init__(self, root: Path) -> None:
        super().__init__(root)
        for folder in (self.inbox, self.exports):
            folder.mkdir(parents=True)
        self.settings_file.write_text(
            "[intake]\nquiet_seconds = 0\n[publishing]\npage = false\n", encoding="utf-8"
        )
        (self.exports / "small-thickness.toml").write_text(THICKNESS_PROFILE, encoding="utf-8")
        (self.exports / "small-forming.toml").write_text(FORMING_PROFILE, encoding="utf-8")

    def readings(self, name: str, *rows: str) -> Path:
        """Put thickness readings into the inbox, each as ``sheet,spot,um,who``."""
        return self._put(name, "sheet,spot,um,who", rows)

    def log(self, name: str, *rows: str) -> Path:
        """Put a forming log into the inbox, a line for each sheet as ``sheet,trial,point,remark``."""
        return self._put(name, "sheet,trial,point,remark", rows)

    def _put(self, name: str, header: str, rows: tuple[str, ...]) -> Path:
        path = self.inbox / name
        path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
        return path


@pytest.fixture(scope="session")
def demo_night(tmp_path_factory: pytest.TempPathFactory) -> DemoNight:
    demo = demo_laboratory.write(tmp_path_factory.mktemp("demo") / "lab")
    return DemoNight(demo.laboratory, steps.run(demo.laboratory), demo.faults)


@pytest.fixture
def demo_copy(demo_night: DemoNight, tmp_path: Path) -> Laboratory:
    return Laboratory(shutil.copytree(demo_night.laboratory.root, tmp_path / "demo-copy"))


@pytest.fixture
def small(tmp_path: Path) -> SmallLaboratory:
    return SmallLaboratory(tmp_path / "small")


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
    """Hold a laboratory's lock in another process, as a night that runs does."""

    @contextlib.contextmanager
    def hold(laboratory: Laboratory) -> Iterator[None]:
        code = (
            "import sys, pathlib; from pipelines.flows import steps; from pipelines.settings import Laboratory\n"
            "with steps.exclusive_run(Laboratory(pathlib.Path(sys.argv[1]))):\n"
            "    print('held', flush=True); sys.stdin.read()"
        )
        with subprocess.Popen(
            [sys.executable, "-c", code, laboratory.root],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        ) as holder:  # fmt: skip
            assert holder.stdout is not None
            assert holder.stdout.readline() == "held\n"
            yield

    return hold
