"""One model per published table. MARTS is the list of them that everything else goes by."""

import pandera.pandas as pa

from schemas.marts.export_file import ExportFile
from schemas.marts.held_row import HeldRow
from schemas.marts.jet_to_wire_response import JetToWireResponse
from schemas.marts.jet_to_wire_response_curve import JetToWireResponseCurve
from schemas.marts.layer import Layer
from schemas.marts.night import Night
from schemas.marts.setting import Setting
from schemas.marts.sheet import Sheet
from schemas.marts.sheet_property import SheetProperty
from schemas.marts.tank_fill import TankFill
from schemas.marts.tensile_curve_result import TensileCurveResult
from schemas.marts.test_atmosphere import TestAtmosphere
from schemas.marts.test_piece import TestPiece
from schemas.marts.tester_accuracy import TesterAccuracy
from schemas.marts.trial_point import TrialPoint
from schemas.marts.trial_point_property import TrialPointProperty
from schemas.marts.unmatched_test import UnmatchedTest

MARTS: dict[str, type[pa.DataFrameModel]] = {
    "setting": Setting,
    "tester_accuracy": TesterAccuracy,
    "layer": Layer,
    "tank_fill": TankFill,
    "test_atmosphere": TestAtmosphere,
    "test_piece": TestPiece,
    "tensile_curve_result": TensileCurveResult,
    "sheet": Sheet,
    "sheet_property": SheetProperty,
    "trial_point": TrialPoint,
    "trial_point_property": TrialPointProperty,
    "jet_to_wire_response": JetToWireResponse,
    "jet_to_wire_response_curve": JetToWireResponseCurve,
    "unmatched_test": UnmatchedTest,
    "export_file": ExportFile,
    "held_row": HeldRow,
    "night": Night,
}
"""Published table -> its model, in build order; one without a statement in sql/marts is filled elsewhere."""
