"""The simulated load sensor: noise, the shaking of the frame by a hand, and spikes."""

import random
from dataclasses import dataclass

from ramphold.method import cell


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorParameters:
    """The disturbances of a reading.

    Attributes:
        noise_lbf: electrical noise, rms; about 0.25 at 10 readings/s and 0.45 at 80.
        shake_psi: shaking of the frame by a pumping hand, rms.
        spike_psi: greatest height of a spike.
        spike_share: share of readings at which a spike begins.
        repeat_share: share of spikes that last two readings.
    """

    noise_lbf: float = 0.25
    shake_psi: float = 1.6
    spike_psi: float = 16_000.0
    spike_share: float = 0.001
    repeat_share: float = 0.1


class Sensor:
    """Reads a load as a bonded strain gauge and its indicator would."""

    def __init__(
        self,
        rng: random.Random,
        parameters: SensorParameters | None = None,
        *,
        bore_in: float = cell.STANDARD_BORE_IN,
    ) -> None:
        self._rng = rng
        self._parameters = parameters or SensorParameters()
        self._area_in2 = cell.area_in2(bore_in)
        self._spike_lbf = 0.0
        self._spikes_left = 0

    def read(self, force_lbf: float, *, pumping: bool) -> float:
        """A reading in lbf of the true load `force_lbf`."""
        p, rng = self._parameters, self._rng
        noise_lbf = rng.gauss(0.0, p.noise_lbf)
        if pumping:
            noise_lbf += rng.gauss(0.0, p.shake_psi * self._area_in2)
        if not self._spikes_left and rng.random() < p.spike_share:
            self._spikes_left = 2 if rng.random() < p.repeat_share else 1
            self._spike_lbf = rng.uniform(-1.0, 1.0) * p.spike_psi * self._area_in2
        if self._spikes_left:
            self._spikes_left -= 1
            noise_lbf += self._spike_lbf
        return force_lbf + noise_lbf
