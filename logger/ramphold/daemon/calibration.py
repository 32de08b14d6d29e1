"""Certificates as they come into force, and the zero of the load; both are recorded."""

import hashlib
import statistics
from collections.abc import Callable
from dataclasses import asdict

import msgspec
from msgspec import structs

from ramphold.clock import NS_PER_S, Clock
from ramphold.control import bench_methods, instrument_methods
from ramphold.control.handlers import Handlers
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.calibration_in_force import CalibrationInForce
from ramphold.daemon.certificates import Certificates
from ramphold.errors import CommandRefused, ConfigError
from ramphold.method.daily_check import LOAD_ZERO, CheckOutcome, CheckVerdict, judge
from ramphold.sample import CertificateTaken, DailyCheckMade
from ramphold.store import Store
from ramphold.wire import Certificate, read_certificate

_MEAN_OF_S = 2.0
_LEAST_READINGS = 5
# Most that the load may wander while its zero is taken, in % of the full range.
_WANDER_PCT = 0.1
_DAEMON = "daemon"


class CalibrationService:
    """Serves the methods about the calibration of load and balance.

    Args:
        certificates: the bench's.
        in_force: the calibration in force.
        readings: gives the readings of an instrument.
        store: where checks and certificates are recorded.
        clock: dates them.
    """

    def __init__(
        self,
        certificates: Certificates,
        in_force: CalibrationInForce,
        readings: Callable[[instrument_methods.ReadingsParams], instrument_methods.Readings],
        store: StoreThread,
        clock: Clock,
    ) -> None:
        self._certificates = certificates
        self._in_force = in_force
        self._readings = readings
        self._store = store
        self._clock = clock

    def answer(self, handlers: Handlers) -> None:
        """Answer the methods about the calibration."""
        handlers.on(bench_methods.ZERO_LOAD, self.zero)
        handlers.on(bench_methods.TAKE_CERTIFICATE, self.take)

    async def restore(self) -> None:
        """Count from the newest zero; record certificates that were put into the folder."""
        held = self._in_force.certificate
        if held is not None:
            zero = await self._store.run(lambda store: _newest_zero(store, held.id))
            if zero is not None:
                self._in_force.take_zero(zero)
        for one in (held, self._in_force.balance):
            if one is not None:
                await self._record(one, _DAEMON)

    async def zero(self, params: bench_methods.ZeroLoadParams) -> DailyCheckMade:
        """Compare the zero of the load with the one before; count from it unless it fails.

        Raises:
            CommandRefused: the load moves, or gives no readings.
        """
        measured = self._resting()
        base = abs(self._in_force.full_range)
        found = judge(LOAD_ZERO, measured, self._in_force.zero, base)
        made = await self._keep(found, structs.replace(params, anyway=None))
        if found.verdict is CheckVerdict.FAILED and params.anyway is not None:
            # A person says that this is the zero, so it is compared with itself.
            again = judge(LOAD_ZERO, measured, measured, base)
            made = await self._keep(again, params)
        if made.verdict != CheckVerdict.FAILED:
            self._in_force.take_zero(measured)
        return made

    async def take(self, params: bench_methods.TakeCertificateParams) -> CertificateTaken:
        """Keep a certificate in its folder, and use the one that is in force from now on.

        Raises:
            InputError: the text is no certificate, its id is taken, or there is no folder.
            CommandRefused: it does not fit the readings of load or balance.
        """
        certificate = read_certificate(params.text, "the certificate")
        try:
            self._in_force.check(certificate)
        except ConfigError as error:
            raise CommandRefused(f"not kept: {error}") from None
        self._certificates.add(certificate)
        self._in_force.reload()
        return await self._record(certificate, params.operator)

    # --- inside ------------------------------------------------------------------------------

    def _resting(self) -> float:
        """Median reading of the load at rest, in the certificate's unit."""
        after_ns = self._clock.now_ns() - round(_MEAN_OF_S * NS_PER_S)
        wanted = instrument_methods.ReadingsParams(instrument="load", after_ns=after_ns)
        read = [row.reading for row in self._readings(wanted).readings]
        held = [self._in_force.in_its_unit(one) for one in read if one is not None]
        if len(held) < _LEAST_READINGS:
            raise CommandRefused(
                f"the load gave {len(held)} readings in {_MEAN_OF_S:g} s: check that it is on"
            )
        middle = statistics.median(held)
        wander = statistics.median(abs(one - middle) for one in held)
        if wander > _WANDER_PCT / 100 * abs(self._in_force.full_range):
            raise CommandRefused("the load moves: expected it at rest, with nothing on it")
        return middle

    async def _keep(
        self,
        found: CheckOutcome,
        params: bench_methods.ZeroLoadParams,
    ) -> DailyCheckMade:
        utc_ns = self._clock.utc_ns()
        off_lbf = found.off_pct / 100 * self._in_force.capacity_lbf
        record = bench_methods.ZERO_LOAD.record(
            params, utc_ns=utc_ns, off_lbf=off_lbf, **asdict(found)
        )
        return await self._store.run(lambda store: store.records.append(record))

    async def _record(self, certificate: Certificate, operator: str) -> CertificateTaken:
        kind = "load" if certificate.of_force else "balance"
        facts, fields = msgspec.to_builtins(certificate), CertificateTaken.__struct_fields__
        shared = {name: value for name, value in facts.items() if name in fields}
        record = CertificateTaken(
            **shared
            | {
                "operator": operator,
                "utc_ns": self._clock.utc_ns(),
                "certificate": certificate.id,
                "instrument": f"{kind}: {certificate.instrument}",
                "sha256": hashlib.sha256(certificate.text().encode()).hexdigest(),
            }
        )
        return await self._store.run(lambda store: _once(store, record))


def _once(store: Store, record: CertificateTaken) -> CertificateTaken:
    held = store.bench.record().certificate(record.certificate)
    return held or store.records.append(record)


def _newest_zero(store: Store, certificate: str) -> float | None:
    """The newest zero that was read since a certificate came into force."""
    book = store.bench.record()
    taken = book.certificate(certificate)
    zeros = [
        check.measured
        for check in book.checks
        if check.rule == LOAD_ZERO.name
        and check.off_lbf is not None  # a typed one was read by nobody
        and check.verdict != CheckVerdict.FAILED
        and taken is not None
        and check.record > taken.record
    ]
    return zeros[-1] if zeros else None
