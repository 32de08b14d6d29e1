"""The calibration in force: certificates of load and balance, and the zero of the load."""

import math
from dataclasses import replace

from msgspec import structs

from ramphold.core import Calibration, Quality, Reading
from ramphold.daemon.certificates import Certificates, today
from ramphold.daemon.config import BenchConfig
from ramphold.errors import ConfigError, InputError
from ramphold.instruments import CountScale
from ramphold.units import FORCE_UNITS, MASS
from ramphold.wire import Certificate


class CalibrationInForce:
    """The calibration of the load channel, and that of the balance beside it.

    `scale` and `correct` are called in the instrument's thread, so certificate and zero are
    replaced together and never changed in place.

    Args:
        config: the bench.
        certificates: those of the bench.

    Attributes:
        balance: the certificate in force for the balance; None where there is none.
        troubles: what is wrong with certificates, a sentence each. Without one the assessment of
            every run says so.
    """

    def __init__(self, config: BenchConfig, certificates: Certificates) -> None:
        self._config = config
        self._certificates = certificates
        self._held: tuple[Certificate, CountScale] | None = None
        self.balance: Certificate | None = None
        self.troubles: tuple[str, ...] = ()
        self.reload()

    @property
    def certificate(self) -> Certificate | None:
        """The certificate in force for the load, even past its due date."""
        return self._held[0] if self._held else None

    @property
    def zero(self) -> float:
        """Reading without a load, in the certificate's reading unit."""
        return self._held[1].zero if self._held else 0.0

    @property
    def full_range(self) -> float:
        """Change of the reading from no load to full capacity, in the reading's unit."""
        return self.to_reading(self.capacity_lbf) - self.to_reading(0.0)

    @property
    def capacity_lbf(self) -> float:
        """The force at full capacity."""
        return float(self._config.load.capacity)

    def reload(self) -> None:
        """Apply the certificates in force now; a new one brings its own zero."""
        chosen = self._config.calibration
        self.troubles = self._certificates.troubles
        load = self._in_force(of_force=True, chosen=chosen.load if chosen else "")
        self.balance = self._in_force(of_force=False, chosen=chosen.balance if chosen else "")
        if load is None:
            self._held = None
            return
        if self.certificate is not None and self.certificate.id == load.id:
            return  # its zero stands
        self._held = load, CountScale(curve=load.curve(), zero=load.zero)

    def check(self, certificate: Certificate) -> None:
        """Check that a certificate fits the readings of this load, or of the balance.

        Raises:
            ConfigError: it does not.
        """
        if not certificate.of_force:
            if certificate.reading_unit not in MASS.sizes:
                raise ConfigError(
                    f"certificate {certificate.id} has reading_unit {certificate.reading_unit!r}: "
                    f"expected one of {', '.join(MASS.sizes)}, as a balance reads"
                )
            return
        in_force = certificate.reading_unit in FORCE_UNITS
        counts = self._config.load.counts
        if certificate.in_counts is not counts or not (certificate.in_counts or in_force):
            expected = "count" if counts else "a unit of force"
            raise ConfigError(
                f"certificate {certificate.id} has reading_unit {certificate.reading_unit!r}: "
                f"expected {expected}, as the load reads"
            )

    def _in_force(self, *, of_force: bool, chosen: str) -> Certificate | None:
        try:
            found = self._certificates.in_force(of_force=of_force, chosen=chosen)
            if found is not None:
                self.check(found)
        except ConfigError as error:
            self.troubles += (str(error),)
            return None
        return found

    def take_zero(self, zero: float) -> None:
        """Count from another reading without a load."""
        if self._held:
            self._held = self._held[0], replace(self._held[1], zero=zero)

    def to_reading(self, force_lbf: float) -> float:
        """Reading at a force, less its zero, in the reading's unit."""
        if self._held is None:
            return force_lbf
        return self._held[1].curve.reading(force_lbf)

    def in_its_unit(self, reading: float) -> float:
        """An uncorrected reading, as `ReadingRow` has it, in the certificate's reading unit."""
        held = self.certificate
        if held is None or held.in_counts:
            return reading
        return reading / FORCE_UNITS[held.reading_unit]

    @property
    def zero_reading(self) -> float:
        """Reading without a load as `ReadingRow` has it: a count, or a force in lbf."""
        held = self.certificate
        if held is None or held.in_counts:
            return self.zero
        return self.zero * FORCE_UNITS[held.reading_unit]

    def scale(self) -> CountScale | None:
        """The calibration of a load that reads counts; None for one that reads force."""
        return self._held[1] if self._held and self._held[0].in_counts else None

    def correct(self, reading: Reading) -> Reading:
        """A reading of a load that reads force, corrected; its raw digits stay."""
        held = self._held
        if held is None or held[0].in_counts or not reading.usable:
            return reading
        certificate, scale = held
        shown = reading.force_lbf / FORCE_UNITS[certificate.reading_unit]
        try:
            force_lbf = scale.curve.force_lbf(shown - scale.zero)
        except InputError:  # past where the curve turns
            return structs.replace(reading, force_lbf=math.nan, quality=Quality.OVER_RANGE)
        return structs.replace(reading, force_lbf=force_lbf)

    def calibration(self, utc_ns: int) -> Calibration:
        """The calibration of a run that starts now."""
        by_pressure, held = self._config.load.by_pressure, self.certificate
        if held is None:
            return Calibration(by_pressure=by_pressure)
        day = today(utc_ns)
        return Calibration(
            certificate=held.id,
            days_left=held.days_left(day),
            days_early=held.days_early(day),
            zero=self.zero,
            by_pressure=by_pressure,
        )


def status(certificate: Certificate | None, utc_ns: int) -> str:
    """A certificate and its due date, for a person."""
    if certificate is None:
        return "no certificate"
    day = today(utc_ns)
    word = f"in force until {certificate.due}"
    if certificate.days_left(day) < 0:
        word = f"past due since {certificate.due}"
    elif certificate.days_early(day):
        word = f"dated {certificate.date}, later than today: look at clock and date"
    return f"{certificate.id}, {word}"
