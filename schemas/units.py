"""Units of columns: each UCUM code in use, with the ending of the names of columns in that unit."""

import re

SUFFIX_OF_UNIT = {
    "N": "n",
    "N/mm": "n_mm",
    "J": "j",
    "mm": "mm",
    "mm2": "mm2",
    "um": "um",
    "g": "g",
    "g/m2": "g_m2",
    "kg/m3": "kg_m3",
    "cm3/g": "cm3_g",
    "kN/m": "kn_m",
    "N.m/g": "nm_g",
    "kN.m/g": "knm_g",
    "km": "km",
    "%": "pct",
    "J/m2": "j_m2",
    "J/g": "j_g",
    "GPa": "gpa",
    "kPa": "kpa",
    "L": "l",
    "L/min": "l_min",
    "m/min": "m_min",
    "m/s2": "m_s2",
    "mm/min": "mm_min",
    "s": "s",
    "min": "min",
    "h": "h",
    "deg": "deg",
    "Cel": "c",
    "kW.h/t": "kwh_t",
    "kg/t": "kg_t",
    "mL": "ml",
    "mL/min": "ml_min",
    "g/g": "g_g",
    "mg/m": "mg_m",
    "ueq/g": "ueq_g",
    "mS/m": "ms_m",
    "mL/g": "ml_g",
    "mN": "mn",
    "mN.m": "mnm",
    "mN.m2/g": "mnm2_g",
    "kPa.m2/g": "kpam2_g",
    "N.m7/kg3": "nm7_kg3",
    "um/Pa/s": "um_pa_s",
    "m2/kg": "m2_kg",
    "J/m": "j_m",
    "J.m/kg": "jm_kg",
    "1/m": "per_m",
    "{SR}": "sr",
    "[pH]": "",
    "1": "",
    "UTC": "utc",
}
"""The UCUM code of each unit in use, with the ending of its columns (``UTC`` is not a UCUM unit)."""


def suffix_of(unit: str) -> str:
    """Return the ending of columns in a unit; for a unit that is not listed it follows from its letters.

    >>> suffix_of("N.m/g"), suffix_of("%"), suffix_of("mN.m2/g")
    ('nm_g', 'pct', 'mnm2_g')
    """
    listed = SUFFIX_OF_UNIT.get(unit)
    return re.sub(r"[^a-z0-9_]", "", unit.lower().replace("/", "_")) if listed is None else listed
