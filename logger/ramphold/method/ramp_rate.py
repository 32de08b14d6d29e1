"""The uncertainty of a measured ramp rate: by the GUM, and by draws from the same sources.

The rate is the rise of stress from the ramp's first reading to its last over the time between them.
A shift of the zero is in both readings and cancels; what scales the force does not.
"""

from dataclasses import dataclass

from ramphold.method.monte_carlo import DRAWS, Propagated, draw, generator, propagated
from ramphold.method.uncertainty import Budget, Component, bounded, combine, step


@dataclass(frozen=True, slots=True, kw_only=True)
class Ramp:
    """A ramp as it was measured, and what is known of the measurement.

    Attributes:
        rate_psi_min: its mean rate.
        lasted_s: from its first reading to its last.
        calibration: standard uncertainty of the force by its certificate, as a share of it.
        drift: largest drift of the force since, as a share of it.
        bore_in: the bore, and by how much it may be off.
        bore_half_width_in: see `bore_in`.
        step_psi: resolution of the stress.
        interval_s: time from one reading to the next: a reading may be as old when it comes.
    """

    rate_psi_min: float
    lasted_s: float
    calibration: float
    drift: float
    bore_in: float
    bore_half_width_in: float
    step_psi: float
    interval_s: float

    @property
    def sources(self) -> tuple[Component, ...]:
        """What the rate is uncertain by, in the order of its equation."""
        per_psi, per_s = 60 / self.lasted_s, self.rate_psi_min / self.lasted_s
        rate = self.rate_psi_min
        return (
            Component(name="calibration of the force, as a share", u=self.calibration,
                      sensitivity=rate),
            bounded("drift of the force, as a share", self.drift, rate),
            bounded("bore", self.bore_half_width_in, -2 * rate / self.bore_in),
            step("gauge step at the end", self.step_psi, per_psi),
            step("gauge step at the start", self.step_psi, -per_psi),
            bounded("age of the last reading", self.interval_s / 2, -per_s),
            bounded("age of the first reading", self.interval_s / 2, per_s),
        )  # fmt: skip


def ramp_rate_budget(ramp: Ramp) -> Budget:
    """The budget of a ramp rate in psi/min."""
    return combine(ramp.rate_psi_min, "psi/min", ramp.sources)


def ramp_rate_by_draws(ramp: Ramp, *, seed: int, draws: int = DRAWS) -> Propagated:
    """A ramp rate in psi/min by draws through its own equation, without sensitivities."""
    chance = generator(seed)
    calibration, drift, bore_in, end_psi, start_psi, last_s, first_s = (
        draw(one, chance, draws) for one in ramp.sources
    )
    rise_psi = ramp.rate_psi_min * ramp.lasted_s / 60
    scaled_psi = rise_psi * (1 + calibration + drift) / (1 + bore_in / ramp.bore_in) ** 2
    lasted_s = ramp.lasted_s + last_s - first_s
    return propagated(60 * (scaled_psi + end_psi - start_psi) / lasted_s)
