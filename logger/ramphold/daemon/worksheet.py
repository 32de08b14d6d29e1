"""Specimens and their masses: what stands on the balance becomes a row, and never changes."""

import contextlib

from ramphold.clock import Clock
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
from ramphold.daemon._balance import BalanceNow
from ramphold.daemon._masses import correct_mass, keep_mass, sample_number
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import Tell
from ramphold.errors import CommandRefused, InputError
from ramphold.method.fines import fines_pct
from ramphold.sample import (
    Mass,
    Specimen,
    Weighing,
    mass_of,
    place_of,
    standing_masses,
    weighing_at,
)
from ramphold.store import Store

__all__ = ["Worksheet"]


class Worksheet:
    """What is known of the specimens, and what the balance says now."""

    def __init__(
        self,
        balance: BalanceNow,
        store: StoreThread,
        clock: Clock,
        tell: Tell,
        *,
        press: str = "",
    ) -> None:
        self.balance = balance
        self._store = store
        self._clock = clock
        self._tell = tell
        self._press = press

    def take_mass(self, reading: MassReading) -> None:
        """Take one line of the balance."""
        self.balance.take(reading)
        self._tell(ON_MASS, reading)

    async def add_specimen(self, wanted: NewSpecimen) -> Specimen:
        """Record a specimen, of a sample or of none.

        Raises:
            InputError: there is no such sample.
        """
        utc_ns = self._clock.utc_ns()

        def keep(store: Store) -> Specimen:
            sample = None if wanted.sample is None else sample_number(store, wanted.sample)
            return store.add_specimen(
                label=wanted.label,
                target_psi=wanted.target_psi,
                bore_in=wanted.bore_in,
                operator=wanted.operator,
                utc_ns=utc_ns,
                sample=sample,
                press=self._press,
                cell=wanted.cell,
            )

        return await self._store.run(keep)

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
        weighed, utc_ns = self.balance.weighed(None), self._clock.utc_ns()
        place = place_of(wanted.specimen, wanted.what)
        kept = await self._store.run(
            lambda store: keep_mass(
                store, place, weighed, sample=None, operator=wanted.operator, utc_ns=utc_ns
            )
        )
        self.balance.kept(weighed)
        return mass_of(kept)

    async def correct(self, wanted: CorrectMass) -> Mass:
        """Replace a mass, with a reason; the old one stays.

        Raises:
            CommandRefused: there is no such mass of a specimen, or it has been replaced already.
        """
        weighed, utc_ns = self.balance.weighed(wanted.mass_g), self._clock.utc_ns()

        def keep(store: Store) -> Mass:
            place = store.mass(wanted.mass).place
            if weighing_at(place) is None:
                raise CommandRefused(f"mass {wanted.mass} is of {place}: correct it as such")
            kept = correct_mass(
                store,
                wanted.mass,
                weighed,
                operator=wanted.operator,
                reason=wanted.reason,
                utc_ns=utc_ns,
            )
            return mass_of(kept)

        mass = await self._store.run(keep)
        self.balance.kept(weighed)
        return mass


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
