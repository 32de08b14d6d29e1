"""The simulated press and the bed in it: lever travel in, load out, at times that are given.

Oil pumped less oil leaked goes into straining the bed and into stretching frame, hose and oil.
The bed stiffens with stress, creeps with the logarithm of time, and crushes for good: a spring
in series with a strain that grows the faster, the further it lags behind what the stress asks
for (isotaches, as in soil mechanics). The figures are guesses for a small hand-pumped press and
a 20/40 sand; `draw` spreads them.
"""

import math
import random
from dataclasses import dataclass, replace

from ramphold.method import cell
from ramphold.units import PA_PER_PSI

_NS_PER_S = 1_000_000_000
_PSI_PER_MPA = 1e6 / PA_PER_PSI
_CM2_PER_IN2 = 2.54**2

_LONGEST_STEP_S = 0.025
_GREATEST_PULL = 0.02
# Rate of strain at which the bed follows its curve: about that of the standard ramp.
_REFERENCE_PER_S = 1e-3
# A bed that has just been levelled is soft, not infinitely so.
_LEVELLED_MPA = 0.05
_ATMOSPHERE_MPA = 0.101325
_VALVE_TAU_S = 0.3
_GREATEST_LAG = 40.0
# A millionth of the weight of a piston: less squeezes nothing, and would divide by zero.
_LEAST_MPA = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class LeverMove:
    """What a hand did since the last step.

    Attributes:
        travel: lever travel in full strokes; positive pumps, negative is the lever's return.
        valve_open: whether the release valve stands open.
    """

    travel: float = 0.0
    valve_open: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PressParameters:
    """One press with one specimen in it; volumes in cm3, pressures in MPa.

    Attributes:
        bore_in: bore of the cell.
        ram_area_cm2: area of the ram.
        stroke_cm3: oil that a full stroke pumps.
        gap_cm3: oil to pump before the piston touches.
        bed_mm: height of the levelled bed.
        modulus_mpa: stiffness of the bed at 10 MPa, rising with stress to the power `stiffening`.
        rebound: stiffness against quick changes, as a multiple of `modulus_mpa`.
        creep_ratio: strain in each decade of time, as a share of that in each decade of stress.
        crush_strain: strain that crushing adds in all, half of it at `crush_mpa`.
        frame_mn_m: stiffness of the frame in MN/m.
        oil_cm3, oil_bulk_mpa: oil under pressure, and its stiffness with that of the hose.
        air_cm3: air caught in the oil, at atmospheric pressure.
        leak_s: time constant of the leak.
        breaks_per_s: most frequent sudden drops by breaking grains, each of `break_strain`.
    """

    bore_in: float = cell.STANDARD_BORE_IN
    ram_area_cm2: float = 32.0
    stroke_cm3: float = 1.6
    gap_cm3: float = 4.0
    bed_mm: float = 12.3
    modulus_mpa: float = 350.0
    stiffening: float = 0.55
    rebound: float = 4.0
    creep_ratio: float = 0.025
    crush_strain: float = 0.06
    crush_mpa: float = 60.0
    crush_power: float = 3.0
    frame_mn_m: float = 120.0
    oil_cm3: float = 130.0
    oil_bulk_mpa: float = 640.0
    air_cm3: float = 0.4
    leak_s: float = 5400.0
    breaks_per_s: float = 0.3
    break_strain: float = 1.2e-4

    def draw(self, rng: random.Random, spread: float = 1.0) -> "PressParameters":
        """Another press and bed of the same kind, log-normally off these figures.

        Args:
            rng: where the chance comes from.
            spread: multiple of the usual spread.
        """
        drawn = {
            name: getattr(self, name) * math.exp(rng.gauss(0.0, sigma * spread))
            for name, sigma in _SPREADS.items()
        }
        return replace(self, **drawn)


#: Standard deviation of the logarithm of each figure that differs between presses and beds.
_SPREADS = {
    "stroke_cm3": 0.05,
    "gap_cm3": 0.2,
    "bed_mm": 0.03,
    "modulus_mpa": 0.2,
    "creep_ratio": 0.25,
    "crush_strain": 0.3,
    "crush_mpa": 0.25,
    "frame_mn_m": 0.3,
    "air_cm3": 0.5,
    "leak_s": math.log(2),
}


class Press:
    """A press with a specimen under its piston, moved on step by step."""

    def __init__(self, parameters: PressParameters, rng: random.Random) -> None:
        self.parameters = parameters
        #: Where the lever stands: 0 is up, 1 is the end of its stroke.
        self.lever = 0.0
        #: Greatest true stress so far, in psi; what crushes the grains.
        self.peak_psi = 0.0
        self._rng = rng
        self._t_ns: int | None = None
        self._stress_mpa = 0.0
        self._gap_cm3 = parameters.gap_cm3
        self._yielded = 0.0
        self._derive(parameters)

    def _derive(self, p: PressParameters) -> None:
        area_cm2 = cell.area_in2(p.bore_in) * _CM2_PER_IN2
        self._bed_cm3 = p.ram_area_cm2 * p.bed_mm / 10
        self._oil_per_bed = area_cm2 / p.ram_area_cm2
        self._fixed_cm3_mpa = (
            p.ram_area_cm2 * area_cm2 * 0.01 / p.frame_mn_m
            + p.oil_cm3 / p.oil_bulk_mpa * self._oil_per_bed
        )

    @property
    def stress_psi(self) -> float:
        """True stress in psi."""
        return self._stress_mpa * _PSI_PER_MPA

    @property
    def force_lbf(self) -> float:
        """True load in lbf."""
        return cell.force_lbf(self.stress_psi, self.parameters.bore_in)

    def step(self, t_ns: int, move: LeverMove) -> float:
        """Go on to `t_ns` with what the hand did since the last step; the true load in lbf.

        Travel past the end of the stroke pumps nothing; the lever has to return first.
        """
        pulled = min(max(move.travel, 0.0), 1.0 - self.lever)
        self.lever = min(max(self.lever + move.travel, 0.0), 1.0)
        elapsed_s = 0.0 if self._t_ns is None else max(t_ns - self._t_ns, 0) / _NS_PER_S
        self._t_ns = t_ns
        if elapsed_s:
            steps = math.ceil(max(elapsed_s / _LONGEST_STEP_S, pulled / _GREATEST_PULL))
            flow_cm3_s = pulled * self.parameters.stroke_cm3 / elapsed_s
            for _ in range(steps):
                self._advance(elapsed_s / steps, flow_cm3_s, valve_open=move.valve_open)
        return self.force_lbf

    def _advance(self, dt_s: float, flow_cm3_s: float, *, valve_open: bool) -> None:
        volume_cm3 = flow_cm3_s * dt_s
        if self._gap_cm3 > 0:
            closed = min(self._gap_cm3, volume_cm3)
            self._gap_cm3 -= closed
            volume_cm3 -= closed
        p, stress = self.parameters, self._stress_mpa
        modulus: float = p.modulus_mpa * ((stress + _LEVELLED_MPA) / 10) ** p.stiffening
        compliance = self._quick_cm3_mpa(stress, modulus * p.rebound)
        drain_per_s = 1 / p.leak_s + (1 / _VALVE_TAU_S if valve_open else 0.0)
        volume_cm3 -= drain_per_s * compliance * stress * dt_s
        strain = self._yield(stress, modulus, dt_s) + self._breaks(stress, dt_s)
        self._yielded += strain
        stress = max(stress + (volume_cm3 - self._bed_cm3 * strain) / compliance, 0.0)
        self._stress_mpa = stress
        self.peak_psi = max(self.peak_psi, stress * _PSI_PER_MPA)

    def _quick_cm3_mpa(self, stress_mpa: float, modulus_mpa: float) -> float:
        """Oil that 1 MPa more on the bed takes at once: bed's spring, frame, hose, oil, air."""
        oil_mpa = stress_mpa * self._oil_per_bed + _ATMOSPHERE_MPA
        air = self.parameters.air_cm3 * _ATMOSPHERE_MPA / oil_mpa**2 * self._oil_per_bed
        return self._bed_cm3 / modulus_mpa + self._fixed_cm3_mpa + air

    def _yield(self, stress_mpa: float, modulus_mpa: float, dt_s: float) -> float:
        """Strain in `dt_s` that never comes back, by packing, creep and crushing.

        Its rate is r0 exp(lag / c), with `lag` the strain the stress asks for less what there
        is, and c the creep per e-fold of time; for a steady stress this is the exact integral.
        """
        if stress_mpa < _LEAST_MPA:
            return 0.0
        p = self.parameters
        crushed: float = (stress_mpa / p.crush_mpa) ** p.crush_power
        crush = p.crush_strain * crushed / (1 + crushed)
        # The curve's slope less the spring's, so that a slow ramp sees `modulus_mpa`.
        slope = (1 - 1 / p.rebound) / modulus_mpa
        asked = slope * (stress_mpa + _LEVELLED_MPA) / (1 - p.stiffening) + crush
        creep = p.creep_ratio * (stress_mpa / modulus_mpa + p.crush_power * crush / (1 + crushed))
        lag = min((asked - self._yielded) / creep, _GREATEST_LAG)
        return creep * math.log1p(_REFERENCE_PER_S * math.exp(lag) * dt_s / creep)

    def _breaks(self, stress_mpa: float, dt_s: float) -> float:
        p = self.parameters
        ratio = (stress_mpa / p.crush_mpa) ** 2
        if self._rng.random() < p.breaks_per_s * ratio / (1 + ratio) * dt_s:
            return self._rng.expovariate(1 / p.break_strain)
        return 0.0
