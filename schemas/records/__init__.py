"""One model per kind of imported record. KINDS lists them for all other modules."""

import pandera.pandas as pa

from schemas.records.basis_weight import BasisWeight
from schemas.records.climate import Climate
from schemas.records.conditioning import Conditioning
from schemas.records.drying import Drying
from schemas.records.forming import Forming
from schemas.records.furnish import Furnish
from schemas.records.further import Further
from schemas.records.moisture import Moisture
from schemas.records.pressing import Pressing
from schemas.records.recipe import Recipe
from schemas.records.stock import Stock
from schemas.records.tank import Tank
from schemas.records.tensile import Tensile
from schemas.records.tensile_curve import TensileCurve, TensileCurvePoint
from schemas.records.thickness import Thickness

KINDS: dict[str, type[pa.DataFrameModel]] = {
    "forming": Forming,
    "furnish": Furnish,
    "recipe": Recipe,
    "tank": Tank,
    "pressing": Pressing,
    "drying": Drying,
    "conditioning": Conditioning,
    "climate": Climate,
    "basis_weight": BasisWeight,
    "moisture": Moisture,
    "thickness": Thickness,
    "tensile": Tensile,
    "tensile_curve": TensileCurvePoint,
    "further": Further,
    "stock": Stock,
}
"""Kind of record -> its model, in the order in which duplicates are resolved (a sheet before its tests)."""

STORED: dict[str, type[pa.DataFrameModel]] = {**KINDS, "tensile_curve": TensileCurve}
"""Kind of record -> the model it is stored with, where rows are folded into one record each."""
