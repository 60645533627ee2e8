"""Laboratories for tests: the demo laboratory after its first run, and a small one that a test fills itself."""

from dataclasses import dataclass
from pathlib import Path

from pipelines.demo import laboratory as demo_laboratory
from pipelines.demo.faults import PlantedFault
from pipelines.flows import steps
from pipelines.flows.report import Report
from pipelines.settings import Laboratory

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
    """The demo laboratory after its first run: where it is, the run's report, and the planted faults."""

    laboratory: Laboratory
    report: Report
    faults: tuple[PlantedFault, ...]

    @property
    def snapshot(self) -> Path:
        """The run's snapshot."""
        return self.report.snapshot


def demo_night(folder: Path, **how: int) -> DemoNight:
    """Write the demo laboratory into a folder, of so many ``sheets`` and from a ``seed``, and run it once."""
    demo = demo_laboratory.write(folder / "lab", **how)
    return DemoNight(demo.laboratory, steps.run(demo.laboratory), demo.faults)


class SmallLaboratory(Laboratory):
    """A laboratory with a profile for thickness readings and one for a forming log; a new one has an empty inbox."""

    def __init__(self, root: Path) -> None:
        super().__init__(root)
        if self.settings_file.exists():  # a copy
            return
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
