"""One model per published table. ``marts()`` returns all of them, with the columns of the registry in force."""

from collections.abc import Callable
from typing import Any

import pandera.pandas as pa

from schemas.marts.export_file import ExportFile
from schemas.marts.furnish_property import FurnishProperty
from schemas.marts.held_row import HeldRow
from schemas.marts.jet_to_wire_response import JetToWireResponse
from schemas.marts.jet_to_wire_response_curve import JetToWireResponseCurve
from schemas.marts.layer import Layer
from schemas.marts.night import Night
from schemas.marts.property import Property
from schemas.marts.property_columns import of_a_piece, of_a_sheet, of_a_trial_point, with_columns
from schemas.marts.reading import Reading
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
from schemas.properties import cached_by_registry

_MARTS: dict[str, type[pa.DataFrameModel]] = {
    "setting": Setting,
    "tester_accuracy": TesterAccuracy,
    "property": Property,
    "layer": Layer,
    "tank_fill": TankFill,
    "furnish_property": FurnishProperty,
    "test_atmosphere": TestAtmosphere,
    "reading": Reading,
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

_COLUMNS_OF_PROPERTIES: dict[str, Callable[[], dict[str, Any]]] = {
    "test_piece": of_a_piece,
    "sheet": of_a_sheet,
    "trial_point": of_a_trial_point,
}
"""Published table -> the columns that it has for the properties, after those that its model declares itself."""


@cached_by_registry
def marts() -> dict[str, type[pa.DataFrameModel]]:
    """Return the model of each published table, in build order.

    A table without a statement in sql/marts is filled elsewhere.
    """
    with_properties = {name: with_columns(of())(_MARTS[name]) for name, of in _COLUMNS_OF_PROPERTIES.items()}
    return _MARTS | with_properties
