"""Samples, step by step from receipt to report: each request becomes a record in its chain."""

from collections.abc import Awaitable, Callable
from functools import partial
from typing import TypeVar

from msgspec import Struct

from ramphold.clock import Clock
from ramphold.control import methods as run_methods
from ramphold.control import sample_methods as methods
from ramphold.control import screen_methods
from ramphold.control.server import Handlers
from ramphold.daemon import _bench_keeping as bench
from ramphold.daemon import _decisions as decisions
from ramphold.daemon import _runs as runs
from ramphold.daemon import _shaking as shaking
from ramphold.daemon import _statements as statements
from ramphold.daemon import _steps as steps
from ramphold.daemon._balance import BalanceNow, Weighed
from ramphold.daemon._masses import correct_mass, keep_mass
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BenchConfig
from ramphold.sample import MassTaken
from ramphold.store import Store

__all__ = ["SampleService"]

P = TypeVar("P", bound=Struct)
R = TypeVar("R")
MassWanted = TypeVar("MassWanted", methods.Weigh, methods.CorrectMass)

#: Serves a request in the store's thread, at a time, UTC in ns.
Work = Callable[[Store, P, int], R]


class SampleService:
    """What can be asked about samples, and about the bench that stands behind them."""

    def __init__(
        self, config: BenchConfig, balance: BalanceNow, store: StoreThread, clock: Clock
    ) -> None:
        self._config = config
        self._balance = balance
        self._store = store
        self._clock = clock

    def answer(self, handlers: Handlers) -> None:
        """Have the methods about samples answered from here."""
        receive = partial(statements.receive, self._config)
        add_specimen = partial(statements.add_specimen, self._config)
        plan_stress = partial(statements.plan_stress, self._config)
        handlers.on(methods.ADD_SAMPLE, self._by(receive))
        handlers.on(methods.SAMPLES, self._by(statements.samples))
        handlers.on(methods.SAMPLE, self._by(statements.sheet))
        handlers.on(methods.CORRECT_SAMPLE, self._by(statements.correct))
        handlers.on(methods.PLAN_STRESS, self._by(plan_stress))
        handlers.on(run_methods.ADD_SPECIMEN, self._by(add_specimen))
        handlers.on(run_methods.RUNS, self._by(runs.runs))
        handlers.on(run_methods.RUN, self._by(runs.run))
        handlers.on(methods.NEXT_STRESS, self._by(statements.next_stress))
        handlers.on(methods.WEIGH, self.weigh)
        handlers.on(methods.CORRECT_MASS, self.correct_mass)
        handlers.on(methods.CHOOSE_CYLINDER, self._by(steps.choose_cylinder))
        handlers.on(methods.SEE_TO, self._by(steps.see_to))
        handlers.on(methods.START_SHAKING, self._by(shaking.start_shaking))
        handlers.on(screen_methods.SHAKINGS, self._by(shaking.shakings))
        handlers.on(screen_methods.END_SHAKING, self._by(shaking.end_shaking))
        handlers.on(methods.ENTER_VALUE, self._by(steps.enter_value))
        handlers.on(methods.DECIDE_EXCLUSION, self._by(decisions.decide_exclusion))
        handlers.on(methods.DECIDE_RUN, self._by(decisions.decide_run))
        handlers.on(methods.REVIEW_SAMPLE, self._by(decisions.review))
        handlers.on(methods.ISSUE_REPORT, self._by(decisions.issue_report))
        handlers.on(methods.BENCH_RECORD, self._by(bench.record))
        handlers.on(methods.CALIBRATE_CYLINDER, self._by(bench.calibrate_cylinder))
        handlers.on(methods.MAKE_DAILY_CHECK, self._by(bench.make_daily_check))
        handlers.on(methods.CHECK_EQUIPMENT, self._by(bench.check_equipment))
        handlers.on(methods.CONTROL_CHART, self._by(bench.control_chart))

    async def weigh(self, wanted: methods.Weigh) -> MassTaken:
        """Keep the mass on the balance, or one that was entered, at any place.

        Raises:
            CommandRefused: there is no mass that may be kept there; says why.
            InputError: there is no such place, sample or specimen.
        """
        return await self._keep(wanted, keep_mass)

    async def correct_mass(self, wanted: methods.CorrectMass) -> MassTaken:
        """Replace a mass of any place, with a reason; the old one stays.

        Raises:
            CommandRefused: it does not stand any more, or no mass may be kept in its place.
            InputError: there is no such mass.
        """
        return await self._keep(wanted, correct_mass)

    async def _keep(
        self, wanted: MassWanted, keep: Callable[[Store, MassWanted, Weighed, int], MassTaken]
    ) -> MassTaken:
        weighed = self._balance.weighed(wanted.mass_g, again=wanted.anyway is not None)
        utc_ns = self._clock.utc_ns()
        kept = await self._store.run(lambda store: keep(store, wanted, weighed, utc_ns))
        self._balance.kept(weighed)
        return kept

    def _by(self, work: Work[P, R]) -> Callable[[P], Awaitable[R]]:
        async def answer(wanted: P) -> R:
            utc_ns = self._clock.utc_ns()
            return await self._store.run(lambda store: work(store, wanted, utc_ns))

        return answer
