"""The demo laboratory's folder: its settings, and an inbox full of exports, logs and planted faults."""

import os
from dataclasses import dataclass
from pathlib import Path

from pipelines.demo import exports, faults
from pipelines.demo.bench import PlantedFault, inbox_file
from pipelines.demo.simulator import (
    CONTRACTION_COEFFICIENT,
    DRUM_RADIUS_MM,
    FORMING_LENGTH_MM,
    FORMING_WIDTH_MM,
    simulate,
)
from pipelines.demo.timetable import ZONE
from pipelines.demo.truth import TrialPoint
from pipelines.intake import profiles
from pipelines.settings import Laboratory

SETTINGS = f"""\
# Settings of the demo laboratory. Everything in it is invented: sheets, testers and numbers.

[laboratory]
name = "Demo sheet laboratory"
time_zone = "{ZONE}"                # local times in exports are read in this zone

[former]
drum_radius_mm = {DRUM_RADIUS_MM}                        # at the forming fabric
forming_length_mm = {FORMING_LENGTH_MM}                     # along the drum
forming_width_mm = {FORMING_WIDTH_MM}                      # across the drum
contraction_coefficient = {CONTRACTION_COEFFICIENT}                # area of the jet over that of the orifice

[properties]
grammage_basis = "conditioned"                # indices are per conditioned grammage
thickness = "single"                          # density from single sheets, not from packs
left_out_remarks = ["clamp_break", "clamp_slip", "early_stop", "defect"]

[atmosphere]
standard = "23/50"                            # 23 ± 1 °C, 50 ± 2 % RH
admitted = ["standard"]                       # tests in other air, or in air that nobody knows, stay out of means

[testers.tensile-si]                          # largest errors, as the invented certificates state them
force_pct = 1.0                               # of the reading
elongation_mm = 0.05
width_mm = 0.1
span_mm = 0.5

[testers.balance-si]
mass_g = 0.001
area_pct = 0.2

[testers.oven]
mass_g = 0.001

[testers.thickness-si]
thickness_um = 1.0
"""


@dataclass(frozen=True)
class Demo:
    """The demo laboratory as written: where it is, what is true in it, and what was planted."""

    laboratory: Laboratory
    truth: tuple[TrialPoint, ...]
    faults: tuple[PlantedFault, ...]


def write(directory: Path, sheets: int = 60, seed: int = 1, sheets_per_file: int = 10) -> Demo:
    """Make a laboratory of simulated sheets in a folder; the inbox is filled, no night has run yet.

    The same arguments give the same bytes and times. Raises ValueError when there are fewer sheets than
    trial points.
    """
    laboratory = Laboratory(directory)
    simulation = simulate(sheets, seed)
    written = exports.write_all(
        profiles.load_profiles(None), simulation.records, simulation.written_by, sheets_per_file, ZONE
    )
    faulty, planted = faults.plant(written, simulation.records["forming"], ZONE)
    laboratory.inbox.mkdir(parents=True, exist_ok=True)
    laboratory.settings_file.write_text(SETTINGS, encoding="utf-8")
    for file in [*map(inbox_file, written), *faulty]:
        path = laboratory.inbox / file.name
        path.write_bytes(file.content)
        changed_ns = file.changed_at.tz_localize("UTC").value
        os.utime(path, ns=(changed_ns, changed_ns))
    return Demo(laboratory, simulation.truth, tuple(planted))
