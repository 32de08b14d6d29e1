"""A second press to judge the pacing on, of another structure than the one it was tuned on.

Oil pumped less oil leaked = ram area x strain of the bed x its height + compliance x change of
load. The bed follows a virgin curve that stiffens and crushes, is stiff below its greatest stress,
and creeps by an ageing law: its rate is inversely proportional to an age that grows with time and
is made young again by loading, which gives creep with the logarithm of time. A hose and seals
that give late take the fast loss after a stroke. `ramphold.sim` has a bed of isotaches instead,
without memory of the greatest stress, and oil alone. Figures are those of a pacing study.
"""

import math
import random
from dataclasses import dataclass, replace

from ramphold.sim import LeverMove

__all__ = ["SecondParameters", "SecondPress"]

NS = 1_000_000_000
PSI_PER_MPA = 145.0377
BED_CM2 = math.pi * 2.54**2
ATMOSPHERE_MPA = 0.101325
VALVE_TAU_S = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondParameters:
    """One press and bed; volumes in cm3, stresses and moduli in MPa."""

    ram_cm2: float = 32.0
    stroke_cm3: float = 1.6
    bed_mm: float = 12.3
    modulus_mpa: float = 350.0
    stiffening: float = 0.55
    unloading: float = 5.0
    at_once: float = 0.65
    creep: float = 0.032
    crush_strain: float = 0.06
    crush_mpa: float = 60.0
    frame_mn_m: float = 120.0
    oil_cm3: float = 130.0
    oil_bulk_mpa: float = 800.0
    hose_cm3_mpa: float = 0.035
    hose_s: float = 0.5
    air_cm3: float = 0.4
    leak_s: float = 5400.0
    drops_per_s: float = 0.3
    drop_strain: float = 1.2e-4

    def draw(self, rng: random.Random) -> "SecondParameters":
        """Another press and bed, log-normally off these figures by the study's spreads."""
        spreads = {
            "stroke_cm3": 0.05,
            "bed_mm": 0.03,
            "modulus_mpa": 0.2,
            "creep": 0.25,
            "crush_strain": 0.3,
            "crush_mpa": 0.25,
            "frame_mn_m": 0.3,
            "air_cm3": 0.5,
            "leak_s": math.log(2),
        }
        return replace(
            self,
            **{k: getattr(self, k) * math.exp(rng.gauss(0.0, sd)) for k, sd in spreads.items()},
        )


class SecondPress:
    """Lever travel in, load out; the interface of `ramphold.sim.Press`."""

    def __init__(self, parameters: SecondParameters, rng: random.Random) -> None:
        self.parameters = p = parameters
        self.lever = 0.0
        self.peak_psi = 0.0
        self._rng = rng
        self._t_ns: int | None = None
        self._mpa = 0.0
        self._most_mpa = 0.0
        self._age_s = 1.0
        self._hose_mpa = 0.0
        self._swept_cm3 = p.ram_cm2 * p.bed_mm / 10
        self._oil_per_bed = BED_CM2 / p.ram_cm2
        self._stiff_cm3_mpa = (
            p.ram_cm2 * BED_CM2 * 0.01 / p.frame_mn_m
            + p.oil_cm3 / p.oil_bulk_mpa * self._oil_per_bed
        )

    @property
    def stress_psi(self) -> float:
        return self._mpa * PSI_PER_MPA

    @property
    def force_lbf(self) -> float:
        return self.stress_psi * math.pi

    def step(self, t_ns: int, move: LeverMove) -> float:
        """Go on to `t_ns`; the true load in lbf."""
        pulled = min(max(move.travel, 0.0), 1.0 - self.lever)
        self.lever = min(max(self.lever + move.travel, 0.0), 1.0)
        dt_s = 0.0 if self._t_ns is None else (t_ns - self._t_ns) / NS
        self._t_ns = t_ns
        if dt_s:
            steps = max(1, math.ceil(pulled / 0.02), math.ceil(dt_s / 0.03))
            for _ in range(steps):
                self._advance(dt_s / steps, pulled / steps, valve_open=move.valve_open)
        return self.force_lbf

    def _advance(self, dt_s: float, travel: float, *, valve_open: bool) -> None:
        p, mpa = self.parameters, self._mpa
        floor = mpa + 0.05
        modulus = p.modulus_mpa * (floor / 10) ** p.stiffening
        share = floor / p.crush_mpa
        crushing = 3 * p.crush_strain * share * share / p.crush_mpa * math.exp(-(share**3))
        virgin = 1 / modulus + crushing
        creep_rate = p.creep * floor * virgin / self._age_s
        strain = creep_rate * dt_s
        ratio = share * share / (1 + share * share)
        if self._rng.random() < p.drops_per_s * ratio * dt_s:
            strain += self._rng.expovariate(1 / p.drop_strain)
        oil_mpa = mpa * self._oil_per_bed + ATMOSPHERE_MPA
        stiff = (
            self._stiff_cm3_mpa
            + p.air_cm3 * ATMOSPHERE_MPA / (oil_mpa * oil_mpa) * self._oil_per_bed
        )
        lag_mpa = mpa - self._hose_mpa
        to_hose = lag_mpa * (1 - math.exp(-dt_s / p.hose_s))
        self._hose_mpa += to_hose
        bed = self._swept_cm3 * p.at_once * virgin
        below = self._swept_cm3 / (p.unloading * modulus)
        drain_s = 1 / p.leak_s + (1 / VALVE_TAU_S if valve_open else 0.0)
        volume = (
            travel * p.stroke_cm3
            - self._swept_cm3 * strain
            - p.hose_cm3_mpa * to_hose
            - drain_s * (stiff + below) * mpa * dt_s
        )
        # Up to the greatest stress so far the bed is stiff, beyond it follows its virgin curve.
        room = (self._most_mpa - mpa) * (stiff + below)
        if volume <= room:
            change = volume / (stiff + below)
        else:
            change = max(room, 0.0) / (stiff + below) + (volume - max(room, 0.0)) / (stiff + bed)
        self._mpa = max(mpa + change, 0.0)
        self._age_s += dt_s
        if self._mpa > self._most_mpa:
            grown = (self._mpa - self._most_mpa) / floor
            self._age_s = max(self._age_s * math.exp(-grown * (1 - p.at_once) / p.creep), 0.05)
            self._most_mpa = self._mpa
            self.peak_psi = self._mpa * PSI_PER_MPA
