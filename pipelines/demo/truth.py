"""The true values of the demo laboratory: its trials, and the properties of the paper of each trial point.

Everything here is invented. The forms of the relations (strength increases with refining and softwood, MD/CD
increases with the distance from a jet-to-wire ratio near 1) are common practice, no source; the numbers are made up.
The simulator draws sheets and test pieces around these values, and a test checks that the warehouse finds them.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

TARGET_GRAMMAGE_G_M2 = 60.0
"""Oven-dry grammage that every sheet is planned for."""

PLANNED_RETENTION = 0.95
"""Retention assumed for the stock volume; the true retention depends on the furnish."""

RATIO_OF_MINIMUM_ORIENTATION = 1.02

BETWEEN_SHEETS = {"tensile_index": 0.020, "stretch": 0.030, "stiffness": 0.020}
WITHIN_SHEET = {"tensile_index": 0.045, "stretch": 0.080, "stiffness": 0.030}
"""Relative standard deviations of the strength properties from sheet to sheet and from piece to piece."""

FURTHER_BETWEEN_SHEETS = 0.02
FURTHER_WITHIN_SHEET = {
    "tear": 0.06,
    "burst": 0.07,
    "bending_stiffness": 0.08,
    "short_span_compression": 0.04,
}
"""Relative standard deviations of the further tests from sheet to sheet and from reading to reading."""

STRENGTH_STRETCH_CORRELATION = 0.6
"""Within a sheet, stronger pieces also stretch more."""


@dataclass(frozen=True)
class Furnish:
    """A batch of stock: softwood and hardwood, refined together, and the tank it is kept in."""

    softwood_pct: float
    refining_energy_kwh_t: float
    tank: str

    @property
    def name(self) -> str:
        """Name of the batch in the logs."""
        return f"softwood {self.softwood_pct:.0f} refined {self.refining_energy_kwh_t:.0f}"

    @property
    def schopper_riegler_sr(self) -> float:
        """Drainability, which increases with refining."""
        return 14 + 0.12 * self.refining_energy_kwh_t

    @property
    def retention(self) -> float:
        """Fraction of the fibre that stays in the sheet; short hardwood fibre is lost more easily."""
        return 0.92 + 0.03 * self.softwood_pct / 100

    @property
    def moisture_pct(self) -> float:
        """Moisture content, wet basis, in the standard atmosphere."""
        return 6.6 + 0.4 * self.softwood_pct / 100

    @property
    def apparent_density_kg_m3(self) -> float:
        """Density after the laboratory's usual pressing."""
        return 580 + 0.9 * self.refining_energy_kwh_t + 40 * (1 - self.softwood_pct / 100)

    def strength(self, jet_to_wire_ratio: float) -> tuple["Strength", "Strength"]:
        """Return the strength in MD and in CD of a sheet formed at a jet-to-wire ratio."""
        energy = self.refining_energy_kwh_t
        index = (26 + 0.10 * self.softwood_pct) * (1 + 0.9 * energy / (energy + 60))
        orientation = 1.35 + 12 * np.log(jet_to_wire_ratio / RATIO_OF_MINIMUM_ORIENTATION) ** 2
        stretch = 2.4 + 0.006 * energy

        def strength(turn: float, straightness: float) -> Strength:
            directed = index * orientation ** (turn / 2)
            directed_stretch = stretch * orientation ** (-turn / 4)
            stiffness = straightness * directed / (10 * directed_stretch)
            return Strength(float(directed), float(directed_stretch), float(stiffness))

        return strength(+1, 2.6), strength(-1, 2.8)


@dataclass(frozen=True)
class Strength:
    """True means of the strength properties in one direction."""

    tensile_index_nm_g: float
    stretch_pct: float
    tensile_stiffness_index_knm_g: float

    @cached_property
    def tea_index_j_g(self) -> float:
        """Mean TEA index: Gauss-Hermite quadrature over the scatter of strength, stretch and stiffness."""
        node, weight = np.polynomial.hermite_e.hermegauss(9)
        nodes = np.stack(np.meshgrid(node, node, node), axis=-1).reshape(-1, 3)
        weights = np.prod(np.stack(np.meshgrid(weight, weight, weight), axis=-1).reshape(-1, 3), axis=1)
        scatter = unit_mean(nodes @ np.linalg.cholesky(_log_covariance()).T, np.diag(_log_covariance()))
        index, stretch, stiffness = (self.as_array() * scatter).T
        values = tea_index_j_g(index, stretch, stiffness)
        return float(weights @ values / weights.sum())

    def as_array(self) -> FloatArray:
        """Return the three means as one array."""
        return np.array([self.tensile_index_nm_g, self.stretch_pct, self.tensile_stiffness_index_knm_g])


@dataclass(frozen=True)
class Layer:
    """A layer of a sheet: its furnish, its jet-to-wire ratio and its share of the grammage."""

    furnish: Furnish
    jet_to_wire_ratio: float
    share: float = 1.0


@dataclass(frozen=True)
class TrialPoint:
    """A combination of furnish and conditions, and the true means of its sheets."""

    trial: str
    trial_point: str
    series: str
    layers: tuple[Layer, ...]

    @property
    def md(self) -> Strength:
        """Strength along the drum's running direction."""
        return self._mixed(0)

    @property
    def cd(self) -> Strength:
        """Strength across the drum's running direction."""
        return self._mixed(1)

    @property
    def apparent_density_kg_m3(self) -> float:
        """Mean density of the sheets."""
        return self._mean("apparent_density_kg_m3")

    @property
    def moisture_pct(self) -> float:
        """Mean moisture content of the sheets, wet basis."""
        return self._mean("moisture_pct")

    @property
    def retention(self) -> float:
        """Mean fraction of the fibre that stays in the sheet."""
        return self._mean("retention")

    @property
    def grammage_oven_dry_g_m2(self) -> float:
        """Mean oven-dry grammage of the sheets."""
        return TARGET_GRAMMAGE_G_M2 * self.retention / PLANNED_RETENTION

    @property
    def grammage_conditioned_g_m2(self) -> float:
        """Mean grammage of the sheets in the standard atmosphere."""
        return self.grammage_oven_dry_g_m2 / (1 - self.moisture_pct / 100)

    def further(self) -> dict[tuple[str, str | None], float]:
        """Return the true means of the further tests' indices by property and direction, in the units of the registry.

        Paper that is stronger in one direction tears less along it, and bends less easily in it.
        """
        md, cd = self.md, self.cd
        mean_index = (md.tensile_index_nm_g * cd.tensile_index_nm_g) ** 0.5
        found: dict[tuple[str, str | None], float] = {("burst_index", None): 0.075 * mean_index}
        for direction, strength, other in (("MD", md, cd), ("CD", cd, md)):
            found |= {
                ("tear_index", direction): 9.0
                * (other.tensile_index_nm_g / strength.tensile_index_nm_g) ** 0.25,
                ("bending_stiffness_index", direction): 0.11 * strength.tensile_stiffness_index_knm_g,
                ("short_span_compression_index", direction): 0.45 * strength.tensile_index_nm_g,
            }
        return found

    def properties(self) -> dict[tuple[str | None, str, str | None], float]:
        """Return the true means by direction, property and basis, as the published tables name them."""
        density_g_cm3 = self.apparent_density_kg_m3 / 1000
        found: dict[tuple[str | None, str, str | None], float] = {
            (None, "grammage", "conditioned"): self.grammage_conditioned_g_m2,
            (None, "grammage", "oven_dry"): self.grammage_oven_dry_g_m2,
            (None, "moisture", None): self.moisture_pct,
            (None, "apparent_density", "conditioned"): self.apparent_density_kg_m3,
        }
        for direction, strength in (("MD", self.md), ("CD", self.cd)):
            stiffness_index = strength.tensile_stiffness_index_knm_g
            found |= {
                (direction, "tensile_index", "conditioned"): strength.tensile_index_nm_g,
                (direction, "stretch", None): strength.stretch_pct,
                (direction, "tensile_stiffness_index", "conditioned"): stiffness_index,
                (direction, "tea_index", "conditioned"): strength.tea_index_j_g,
                (direction, "elastic_modulus", None): stiffness_index * density_g_cm3,
            }
        further = self.further().items()
        return found | {(direction, name, "conditioned"): value for (name, direction), value in further}

    def _mean(self, name: str) -> float:
        return float(sum(layer.share * getattr(layer.furnish, name) for layer in self.layers))

    def _mixed(self, direction: int) -> Strength:
        strengths = [layer.furnish.strength(layer.jet_to_wire_ratio)[direction] for layer in self.layers]
        mixed = sum(layer.share * each.as_array() for layer, each in zip(self.layers, strengths, strict=True))
        return Strength(*map(float, np.asarray(mixed)))


def trial_points() -> tuple[TrialPoint, ...]:
    """Return the demo laboratory's four trials, point by point, in the order in which they are made."""
    ladder = [
        TrialPoint("jet-to-wire ladder", f"ratio {ratio:.2f}", "JW", (Layer(Furnish(60, 60, "A"), ratio),))
        for ratio in (0.85, 1.00, 1.15, 1.35)
    ]
    furnish = [
        TrialPoint("furnish series", f"softwood {share} %", "FS", (Layer(Furnish(share, 60, "B"), 1.15),))
        for share in (80, 50, 20)
    ]
    softwood, hardwood = Furnish(100, 60, "A"), Furnish(0, 60, "B")
    layered = [
        TrialPoint(
            "layered sheets",
            name,
            "LS",
            (Layer(outside, 1.15, 0.2), Layer(inside, 1.15, 0.6), Layer(outside, 1.15, 0.2)),
        )
        for name, outside, inside in (
            ("hardwood outside", hardwood, softwood),
            ("softwood outside", softwood, hardwood),
        )
    ]
    refining = [
        TrialPoint("refining series", f"{energy} kWh/t", "RS", (Layer(Furnish(100, energy, "C"), 1.15),))
        for energy in (20, 60, 120)
    ]
    return (*ladder, *furnish, *layered, *refining)


def unit_mean(log_scatter: npt.ArrayLike, log_variance: npt.ArrayLike) -> FloatArray:
    """Return lognormal factors with a mean of 1, from normal deviates of the logarithm and their variance."""
    factors: FloatArray = np.exp(np.asarray(log_scatter) - np.asarray(log_variance) / 2)
    return factors


def curve_shape(
    tensile_index: FloatArray, stretch_pct: FloatArray, stiffness_index: FloatArray
) -> FloatArray:
    """Return the area under the curve over force x elongation at the break, 0.5 to below 1.

    The pieces follow force = a tanh(k elongation) up to the break. With x = k elongation at the break,
    strain x stiffness / strength is x / tanh x, and the result is ln cosh x / (x tanh x). Strength in N·m/g,
    stretch in %, stiffness in kN·m/g. Raises ValueError when a curve would not be concave.
    """
    x = curve_parameter(10 * stretch_pct * stiffness_index / tensile_index)
    share: FloatArray = np.log(np.cosh(x)) / (x * np.tanh(x))
    return share


def curve_parameter(straightness: FloatArray) -> FloatArray:
    """Return x = k elongation at the break from strain x stiffness / strength, which is x / tanh x.

    Raises ValueError when a curve would not be concave.
    """
    if not np.all(straightness > 1):
        raise ValueError("strain x stiffness / strength must be above 1 for a concave curve")
    x = straightness
    for _ in range(20):  # Newton's method on x - straightness tanh x, from above: the function is convex
        x = x - (x - straightness * np.tanh(x)) / (1 - straightness / np.cosh(x) ** 2)
    return x


def tea_index_j_g(
    tensile_index: FloatArray, stretch_pct: FloatArray, stiffness_index: FloatArray
) -> FloatArray:
    """Return the TEA index, J/g, of pieces with the tanh curve: the energy to the break per mass."""
    return curve_shape(tensile_index, stretch_pct, stiffness_index) * tensile_index * stretch_pct / 100


def within_sheet_log_covariance() -> FloatArray:
    """Return the covariance of the logarithms of strength, stretch and stiffness within a sheet."""
    sd = np.array(list(WITHIN_SHEET.values()))
    correlation = np.eye(3)
    correlation[0, 1] = correlation[1, 0] = STRENGTH_STRETCH_CORRELATION
    covariance: FloatArray = correlation * np.outer(sd, sd)
    return covariance


def _log_covariance() -> FloatArray:
    between: FloatArray = np.diag(np.square(list(BETWEEN_SHEETS.values())))
    return within_sheet_log_covariance() + between
