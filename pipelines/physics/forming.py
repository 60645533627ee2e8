"""Settings of the former for a wanted sheet: the inverses of the SQL macros on forming.

The macros compute results from settings. These functions compute settings from wanted results, to plan a sheet
and for the demo laboratory. All take numbers or arrays that broadcast, and return float arrays of the broadcast
shape.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def jet_speed_for_ratio_m_min(
    jet_to_wire_ratio: npt.ArrayLike, wire_speed_m_min: npt.ArrayLike, spray_angle_deg: npt.ArrayLike = 0.0
) -> FloatArray:
    """Return the jet speed, m/min, that gives a jet-to-wire ratio at a wire speed.

    Follows from the definition: ratio = v_jet cos(angle) / v_wire, with the angle between the jet and the running
    direction in degrees.
    Raises ValueError when a ratio or speed is not positive or the angle is outside 0 to below 90.
    """
    ratio, wire = _positive("jet-to-wire ratio", jet_to_wire_ratio), _positive("wire speed", wire_speed_m_min)
    return ratio * wire / _cosine(spray_angle_deg)


def wire_speed_for_ratio_m_min(
    jet_to_wire_ratio: npt.ArrayLike, jet_speed_m_min: npt.ArrayLike, spray_angle_deg: npt.ArrayLike = 0.0
) -> FloatArray:
    """Return the wire speed, m/min, that gives a jet-to-wire ratio at a jet speed (angle in degrees).

    Follows from the definition: v_wire = v_jet cos(angle) / ratio.
    Raises ValueError when a ratio or speed is not positive or the angle is outside 0 to below 90.
    """
    ratio, jet = _positive("jet-to-wire ratio", jet_to_wire_ratio), _positive("jet speed", jet_speed_m_min)
    return jet * _cosine(spray_angle_deg) / ratio


def flow_rate_for_jet_speed_l_min(
    jet_speed_m_min: npt.ArrayLike,
    nozzle_orifice_mm: npt.ArrayLike,
    nozzle_count: npt.ArrayLike = 1,
    contraction_coefficient: npt.ArrayLike = 1.0,
) -> FloatArray:
    """Return the flow rate of stock, L/min, that gives a jet speed, m/min.

    Continuity: Q = v_jet n A Cc, with the area A of one orifice (from its bore, mm), the number n of nozzles and
    the contraction coefficient Cc, the area of the jet over that of the orifice. Follows from the definition.
    Raises ValueError when an argument is not positive.
    """
    orifice_mm2 = np.pi / 4 * _positive("nozzle orifice", nozzle_orifice_mm) ** 2
    contraction = _positive("contraction coefficient", contraction_coefficient)
    jets_mm2 = _positive("nozzle count", nozzle_count) * orifice_mm2 * contraction
    return _positive("jet speed", jet_speed_m_min) * jets_mm2 / 1000


def stock_volume_for_grammage_l(
    grammage_g_m2: npt.ArrayLike,
    area_m2: npt.ArrayLike,
    consistency_pct: npt.ArrayLike,
    retention: npt.ArrayLike = 1.0,
    stock_density_kg_m3: npt.ArrayLike = 1000.0,
) -> FloatArray:
    """Return the volume of stock, L, for an oven-dry grammage, g/m2, on a forming area, m2.

    Mass balance: grammage x area = density x volume x consistency x retention, with the consistency as mass
    of dry fibre per mass of stock (ISO 4119, from memory) in percent and the retention as a fraction.
    Raises ValueError when an argument is not positive.
    """
    sheet_g = _positive("grammage", grammage_g_m2) * _positive("area", area_m2)
    fibre_g_l = (
        _positive("stock density", stock_density_kg_m3) * _positive("consistency", consistency_pct) / 100
    )
    return sheet_g / (fibre_g_l * _positive("retention", retention))


def drum_speed_rpm(wire_speed_m_min: npt.ArrayLike, drum_radius_mm: npt.ArrayLike) -> FloatArray:
    """Return the drum speed, revolutions per minute, from the wire speed, m/min, and the radius at the fabric, mm.

    n = v / (2 pi R); follows from the definition.

    Raises ValueError when an argument is not positive.
    """
    circumference_m = 2 * np.pi * _positive("drum radius", drum_radius_mm) / 1000
    return _positive("wire speed", wire_speed_m_min) / circumference_m


def wire_speed_for_drum_speed_m_min(drum_rpm: npt.ArrayLike, drum_radius_mm: npt.ArrayLike) -> FloatArray:
    """Return the wire speed, m/min, from the drum speed, revolutions per minute, and the radius at the fabric, mm.

    v = 2 pi R n; follows from the definition.

    Raises ValueError when an argument is not positive.
    """
    circumference_m = 2 * np.pi * _positive("drum radius", drum_radius_mm) / 1000
    return _positive("drum speed", drum_rpm) * circumference_m


def wire_speed_for_acceleration_m_min(
    acceleration_m_s2: npt.ArrayLike, drum_radius_mm: npt.ArrayLike
) -> FloatArray:
    """Return the wire speed, m/min, that gives a centrifugal acceleration, m/s2, at the fabric.

    Circular motion: a = v^2/R, with the drum's radius R at the fabric, mm.
    Raises ValueError when an argument is not positive.
    """
    radius_m = _positive("drum radius", drum_radius_mm) / 1000
    return 60 * np.sqrt(_positive("acceleration", acceleration_m_s2) * radius_m)


def _positive(what: str, values: npt.ArrayLike) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    if not np.all(array > 0):
        raise ValueError(f"{what} must be greater than 0 everywhere, got {array.min()}")
    return array


def _cosine(angle_deg: npt.ArrayLike) -> FloatArray:
    angle = np.asarray(angle_deg, dtype=np.float64)
    if not np.all((angle >= 0) & (angle < 90)):
        raise ValueError("spray angle must be from 0 to below 90 degrees")
    return np.cos(np.radians(angle))
