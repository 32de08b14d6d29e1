"""Specimens and their masses: what stands on the balance becomes a row, and never changes."""

import contextlib

from ramphold.clock import NS_PER_S, Clock
from ramphold.control.methods import (
    ON_MASS,
    ById,
    CaptureMass,
    CorrectMass,
    NewSpecimen,
    Page,
    RunDetail,
    RunEvent,
    Runs,
    SpecimenDetail,
    Specimens,
)
from ramphold.core import MassReading
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BalanceConfig
from ramphold.daemon.press import Tell
from ramphold.errors import CommandRefused, InputError
from ramphold.method.fines import fines_pct
from ramphold.sample import Mass, Specimen, Weighing, standing_masses, weighing_at
from ramphold.store import Store

__all__ = ["Worksheet"]

_FRESH_S = {"query": 2.0, "continuous": 2.0, "print key": 60.0}


class Worksheet:
    """What is known of the specimens, and what the balance says now."""

    def __init__(
        self, balance: BalanceConfig | None, store: StoreThread, clock: Clock, tell: Tell
    ) -> None:
        self._balance = balance
        self._store = store
        self._clock = clock
        self._tell = tell
        self._newest: MassReading | None = None
        self._taken: MassReading | None = None

    def take_mass(self, reading: MassReading) -> None:
        """Take one line of the balance."""
        self._newest = reading
        if self._taken is not None and reading.mass_g not in (None, self._taken.mass_g):
            self._taken = None  # another mass lies between: the same one again is a new weighing
        self._tell(ON_MASS, reading)

    async def add_specimen(self, wanted: NewSpecimen) -> Specimen:
        """Record a specimen."""
        utc_ns = self._clock.utc_ns()
        return await self._store.run(
            lambda store: store.add_specimen(
                label=wanted.label,
                target_psi=wanted.target_psi,
                bore_in=wanted.bore_in,
                operator=wanted.operator,
                utc_ns=utc_ns,
            )
        )

    async def specimens(self, page: Page) -> Specimens:
        """Specimens, newest first."""
        rows = await self._store.run(lambda store: store.specimens(page.before, page.limit))
        return Specimens(specimens=tuple(rows))

    async def specimen(self, wanted: ById) -> SpecimenDetail:
        """One specimen with its masses, runs and fines."""
        return await self._store.run(lambda store: _detail(store, wanted.id))

    async def runs(self, page: Page) -> Runs:
        """Runs, newest first."""
        rows = await self._store.run(lambda store: store.runs(page.before, page.limit))
        return Runs(runs=tuple(rows))

    async def run(self, wanted: ById) -> RunDetail:
        """One run with its events."""
        return await self._store.run(lambda store: _run_detail(store, wanted.id))

    async def capture(self, wanted: CaptureMass) -> Mass:
        """Keep the mass that stands on the balance.

        Raises:
            CommandRefused: there is no specimen, or no mass that may be kept; says why.
        """
        reading = self._stable()
        mass = await self._keep(wanted, reading.mass_g or 0.0, reading)
        self._take(reading)
        return mass

    async def correct(self, wanted: CorrectMass) -> Mass:
        """Replace a mass, with a reason; the old one stays.

        Raises:
            CommandRefused: there is no such mass, or it has been replaced already.
        """
        reading = None if wanted.mass_g is not None else self._stable()
        old = await self._store.run(lambda store: store.mass(wanted.mass))
        what = weighing_at(old.place)
        if what is None or old.specimen is None:
            raise CommandRefused(f"mass {old.record} is of {old.place}: correct it as such")
        capture = CaptureMass(specimen=old.specimen, what=what, operator=wanted.operator)
        mass_g = reading.mass_g if reading else wanted.mass_g
        mass = await self._keep(
            capture, mass_g or 0.0, reading, corrects=old.record, reason=wanted.reason
        )
        self._take(reading)
        return mass

    async def _keep(
        self,
        wanted: CaptureMass,
        mass_g: float,
        reading: MassReading | None,
        *,
        corrects: int | None = None,
        reason: str | None = None,
    ) -> Mass:
        t_ns = reading.t_ns if reading else self._clock.now_ns()
        utc_ns = self._clock.utc_ns()
        return await self._store.run(
            lambda store: store.add_mass(
                specimen=wanted.specimen,
                what=wanted.what,
                mass_g=mass_g,
                line=reading.line if reading else None,
                t_ns=t_ns,
                utc_ns=utc_ns,
                operator=wanted.operator,
                corrects=corrects,
                reason=reason,
            )
        )

    def _take(self, reading: MassReading | None) -> None:
        if reading is not None and reading is self._newest:
            self._taken = reading

    def _stable(self) -> MassReading:
        """The newest reading, if it may be kept."""
        if self._balance is None:
            raise CommandRefused("this bench has no balance: add [balance] to its configuration")
        reading = self._newest
        if reading is None:
            raise CommandRefused("the balance has said nothing yet: check that it is on")
        if not reading.usable or reading.mass_g is None:
            raise CommandRefused(f"the balance is {reading.state}: wait until it is stable")
        if reading.mass_g <= 0:
            raise CommandRefused(f"the balance shows {reading.mass_g:g} g: expected a mass on it")
        age_s = (self._clock.now_ns() - reading.t_ns) / NS_PER_S
        if age_s > _FRESH_S[self._balance.mode]:
            raise CommandRefused(f"the newest mass is {age_s:.0f} s old: weigh again")
        taken_g = self._taken.mass_g if self._taken else None
        if reading.mass_g == taken_g and self._balance.mode == "print key":
            raise CommandRefused(
                f"{reading.mass_g:g} g is kept already, and printed again it is no new weighing: "
                "print the empty balance, then weigh"
            )
        return reading


def _detail(store: Store, number: int) -> SpecimenDetail:
    masses = store.masses(number)
    standing = standing_masses(masses)
    fines = None
    if len(standing) == len(Weighing):
        pan_g = standing[Weighing.PAN_FULL].mass_g - standing[Weighing.PAN_EMPTY].mass_g
        # Masses that can't be right give no fines until one of them is corrected.
        with contextlib.suppress(InputError):
            fines = fines_pct(pan_g, standing[Weighing.CHARGE].mass_g)
    return SpecimenDetail(
        specimen=store.specimen(number),
        masses=tuple(masses),
        runs=tuple(store.runs_of(number)),
        fines_pct=fines,
    )


def _run_detail(store: Store, number: int) -> RunDetail:
    events = store.events(number)
    return RunDetail(
        run=store.run(number),
        events=tuple(RunEvent.of(number, seq, event) for seq, event in enumerate(events)),
    )
