"""The former's settings for what is wanted of the sheet: the inverses of the SQL macros on forming.

The macros compute from what was set what came of it; these functions go the other way, for planning a sheet
and for the demo laboratory. All take numbers or arrays that broadcast, and return float arrays of that shape.
"""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def jet_speed_for_ratio_m_min(
    jet_to_wire_ratio: npt.ArrayLike, wire_speed_m_min: npt.ArrayLike, spray_angle_deg: npt.ArrayLike = 0.0
) -> FloatArray:
    """Return the jet speed, m/min, that gives a jet-to-wire ratio at a wire speed.

    The ratio compares the jet's speed along the wire with the wire's: ratio = v_jet cos(angle) / v_wire. The
    angle, in degrees, lies between jet and running direction. Follows from the definition.
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
    """Return the flow rate, L/min, at which the stock leaves the nozzles at a jet speed.

    Continuity: Q = v_jet n A Cc, with A the area of one orifice (its bore in mm) and Cc the area of the jet
    over that of the orifice. Follows from the definition; 1 mm2 x 1 m/min is 0.001 L/min.
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
    """Return the stock, L, that makes an oven-dry grammage, g/m2, on a forming area, m2.

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
    """Return the drum's revolutions per minute at a wire speed, m/min, and a radius at the fabric, mm.

    Raises ValueError when an argument is not positive.
    """
    circumference_m = 2 * np.pi * _positive("drum radius", drum_radius_mm) / 1000
    return _positive("wire speed", wire_speed_m_min) / circumference_m


def wire_speed_for_drum_speed_m_min(drum_rpm: npt.ArrayLike, drum_radius_mm: npt.ArrayLike) -> FloatArray:
    """Return the wire speed, m/min, of a drum at revolutions per minute and a radius at the fabric, mm.

    Raises ValueError when an argument is not positive.
    """
    circumference_m = 2 * np.pi * _positive("drum radius", drum_radius_mm) / 1000
    return _positive("drum speed", drum_rpm) * circumference_m


def wire_speed_for_acceleration_m_min(
    acceleration_m_s2: npt.ArrayLike, drum_radius_mm: npt.ArrayLike
) -> FloatArray:
    """Return the wire speed, m/min, at which the stock is held to the fabric by an acceleration, m/s2.

    Circular motion: a = v^2/R, with R the drum's radius at the fabric, mm.
    Raises ValueError when an argument is not positive.
    """
    radius_m = _positive("drum radius", drum_radius_mm) / 1000
    return 60 * np.sqrt(_positive("acceleration", acceleration_m_s2) * radius_m)


def _positive(what: str, values: npt.ArrayLike) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    if not np.all(array > 0):
        raise ValueError(f"{what} must be above zero everywhere, got {array.min()}")
    return array


def _cosine(angle_deg: npt.ArrayLike) -> FloatArray:
    angle = np.asarray(angle_deg, dtype=np.float64)
    if not np.all((angle >= 0) & (angle < 90)):
        raise ValueError("spray angle must lie from 0 to below 90 degrees")
    return np.cos(np.radians(angle))
