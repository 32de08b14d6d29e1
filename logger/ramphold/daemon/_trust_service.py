"""How far the bench can be trusted, looked at once a second and told when it changes."""

import asyncio
import contextlib
from pathlib import Path
from typing import NoReturn

from ramphold import trust
from ramphold.clock import NS_PER_S, Clock, utc_text
from ramphold.control.server_methods import ON_TRUST, BenchTrust
from ramphold.daemon._event_telling import Tell
from ramphold.daemon._publishing import PublishService
from ramphold.daemon._signing import SigningService
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.calibration_in_force import CalibrationInForce
from ramphold.daemon.certificates import today
from ramphold.daemon.config import BenchConfig
from ramphold.daemon.instruments import Instruments
from ramphold.daemon.press import PressService
from ramphold.errors import StoreError
from ramphold.store import Store
from ramphold.store.backup import newest_backup
from ramphold.trust import TrustLevel, TrustPart
from ramphold.wire import Certificate

_EVERY_S = 1.0
#: How far the calendar may be from that of the laboratory's server.
TOLERANCE_S = 60.0


class TrustService:
    """Gathers what the rules of trust look at.

    Args:
        config: the bench.
        clock: the time.
        tell: tells the parts when they change.
        press, instruments, publishing, signing, in_force: what is looked at.
        store: where records, outbox and receipts are.
        simulated: whether nothing on the bench is real: its clock and copies do not matter.

    Attributes:
        parts: the parts as they were last.
    """

    def __init__(  # noqa: PLR0913 - each is looked at
        self,
        config: BenchConfig,
        clock: Clock,
        tell: Tell,
        *,
        press: PressService,
        instruments: Instruments,
        publishing: PublishService,
        signing: SigningService,
        in_force: CalibrationInForce,
        store: StoreThread,
        simulated: bool,
    ) -> None:
        self._config, self._clock, self._tell = config, clock, tell
        self._press, self._instruments = press, instruments
        self._publishing, self._signing, self._in_force = publishing, signing, in_force
        self._store, self._simulated = store, simulated
        self._outbox = (0, 0)
        self._receipt_utc_ns: int | None = None
        self._waits_utc_ns: int | None = None
        self._backup_utc_ns: int | None = None
        self._newest_utc_ns = 0
        self.parts: tuple[TrustPart, ...] = self._look()

    async def run(self) -> NoReturn:
        """Look for ever; a disk that hangs is waited for beside that, and told meanwhile."""
        async with asyncio.TaskGroup() as group:
            refreshing: asyncio.Task[None] | None = None
            while True:
                if refreshing is None or refreshing.done():
                    refreshing = group.create_task(self.refresh())
                parts = self._look()
                if parts != self.parts:
                    self.parts = parts
                    self._tell(ON_TRUST, BenchTrust(parts=parts))
                await asyncio.sleep(_EVERY_S)

    async def refresh(self) -> None:
        """Look at what is on the disk."""
        path = Path(self._config.store.path)
        self._backup_utc_ns = await asyncio.to_thread(self._look_beside, path)
        if self._press.live is None:  # else commits tell
            await self._press.starter.try_to_write()
        with contextlib.suppress(StoreError):  # then it stays as it was
            await self._store.run(self._read)

    # --- inside ----------------------------------------------------------------------------------

    def _look_beside(self, path: Path) -> int | None:
        """Look at the space on the disk, and when the newest copy was made."""
        self._press.starter.look()
        return newest_backup(path)

    def _read(self, store: Store) -> None:
        self._outbox = store.outbox.depth()
        receipt = store.heads.newest("receipt")
        self._receipt_utc_ns = None if receipt is None else receipt.utc_ns
        oldest = store.outbox.waiting(limit=1)
        self._waits_utc_ns = store.records.one(oldest[0]).utc_ns if oldest else None
        newest = store.records.newest()
        if newest:
            self._newest_utc_ns = store.records.one(newest).utc_ns

    def _look(self) -> tuple[TrustPart, ...]:
        health = [(one.name, one.ok, one.text) for one in self._instruments.health()]
        return (
            trust.signed(self._press.writer.recording(self._press.starter), self._signing.text),
            self._clock_part(),
            trust.instruments(health),
            self._backup_part(),
            self._server_part(),
            self._certificates(),
        )

    def _clock_part(self) -> TrustPart:
        if self._simulated:
            return _simulated(trust.CLOCK)
        known = self._clock.state()
        return trust.clock(
            synchronised=known.synchronised, battery=known.battery, wrong=self._calendar_wrong()
        )

    def _calendar_wrong(self) -> str:
        """What shows that the calendar is wrong; empty if nothing does."""
        utc_ns = self._clock.utc_ns()
        if utc_ns < self._newest_utc_ns:
            return f"the calendar is before the newest record, of {utc_text(self._newest_utc_ns)}"
        off_s = self._publishing.calendar_off_s
        if off_s is not None and abs(off_s) > TOLERANCE_S:
            way = "ahead of" if off_s > 0 else "behind"
            return f"the calendar is {trust.age_words(abs(off_s))} {way} the server's"
        return ""

    def _backup_part(self) -> TrustPart:
        if self._simulated:
            return _simulated(trust.BACKUP)
        return trust.backup(self._age_s(self._backup_utc_ns))

    def _server_part(self) -> TrustPart:
        waiting, parked = self._outbox
        up, trouble = self._publishing.state()
        receipt_s = self._age_s(self._receipt_utc_ns)
        waits_s = self._age_s(self._waits_utc_ns)
        return trust.server(
            up=up,
            trouble=trouble,
            waiting=waiting,
            parked=parked,
            receipt_s=None if receipt_s is None else max(0.0, receipt_s),
            waits_s=0.0 if waits_s is None else max(0.0, waits_s),
        )

    def _certificates(self) -> TrustPart:
        day = today(self._clock.utc_ns())
        load, balance = self._in_force.certificate, self._in_force.balance

        def left(one: Certificate | None) -> int | None:
            return None if one is None else one.days_left(day)

        future = [one.id for one in (load, balance) if one is not None and one.days_early(day)]
        return trust.certificates(
            load=left(load),
            balance=left(balance),
            has_balance=self._config.balance is not None,
            future=", ".join(future),
            troubles=self._in_force.troubles,
        )

    def _age_s(self, utc_ns: int | None) -> float | None:
        return None if utc_ns is None else (self._clock.utc_ns() - utc_ns) / NS_PER_S


def _simulated(name: str) -> TrustPart:
    return TrustPart(name=name, level=TrustLevel.WELL, text="simulated")
