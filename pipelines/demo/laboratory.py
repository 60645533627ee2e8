"""Write the demo laboratory's folder: its settings, and an inbox with exports, logs and planted faults."""

import os
from dataclasses import dataclass
from pathlib import Path

from pipelines.demo import exports, faults
from pipelines.demo.fault_writer import PlantedFault, demo_file
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
admitted = ["standard"]                       # other tests are not in the means

[testers.tensile-si]                          # maximum errors from the invented certificates
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

[testers.strength-1]
value_pct = {{ tear = 1.0, burst = 1.5 }}       # of a reading
"""


@dataclass(frozen=True)
class Demo:
    """The demo laboratory as written: its folder, its true values and its planted faults."""

    laboratory: Laboratory
    truth: tuple[TrialPoint, ...]
    faults: tuple[PlantedFault, ...]


def write(directory: Path, sheets: int = 60, seed: int = 1, sheets_per_file: int = 10) -> Demo:
    """Write a laboratory of simulated sheets to a folder, with a full inbox and before its first run.

    The same arguments give the same bytes and times. Raises ValueError when there are fewer sheets than
    trial points.
    """
    laboratory = Laboratory(directory)
    simulation = simulate(sheets, seed)
    written = exports.write_all(
        profiles.load_profiles(None), simulation.records, simulation.profile_of_record, sheets_per_file, ZONE
    )
    faulty, planted = faults.plant(written, simulation.records["forming"], ZONE)
    laboratory.inbox.mkdir(parents=True, exist_ok=True)
    laboratory.settings_file.write_text(SETTINGS, encoding="utf-8")
    for file in [*map(demo_file, written), *faulty]:
        path = laboratory.inbox / file.name
        path.write_bytes(file.content)
        changed_ns = file.changed_at.tz_localize("UTC").value
        os.utime(path, ns=(changed_ns, changed_ns))
    return Demo(laboratory, simulation.truth, tuple(planted))
