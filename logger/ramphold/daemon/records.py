"""What is recorded, and what is read from the records: the methods that the store serves."""

import asyncio
from collections.abc import Awaitable, Callable
from functools import partial
from typing import TypeVar

from msgspec import Struct

from ramphold.clock import Clock
from ramphold.control import (
    bench_methods,
    choice_methods,
    mass_methods,
    run_queries,
    sample_methods,
    shaker_methods,
    specimen_methods,
)
from ramphold.control.act import Act, SignedActParams
from ramphold.control.handlers import Handlers
from ramphold.control.methods import METHODS
from ramphold.daemon import _bench_acts, _masses, _queries, _sample_acts, _shaker
from ramphold.daemon._balance_now import BalanceNow, Weighed
from ramphold.daemon._ledger import keep
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BenchConfig
from ramphold.daemon.people import PeopleService
from ramphold.keys.person_key import OpenedKey
from ramphold.sample import BaseRecord, MassTaken
from ramphold.store import Store

P = TypeVar("P", bound=Struct)
R = TypeVar("R")
K = TypeVar("K", bound=BaseRecord)
G = TypeVar("G", bound=SignedActParams)
M = TypeVar("M", mass_methods.WeighParams, mass_methods.CorrectMassParams)

#: Serves a method in the store's thread, at a time in ns UTC.
Work = Callable[[Store, P, int], R]


class RecordService:
    """Adds records, and answers what they say.

    Args:
        config: what the bench is.
        balance: what is weighed now.
        store: where the records are.
        clock: dates them.
    """

    def __init__(
        self, config: BenchConfig, balance: BalanceNow, store: StoreThread, clock: Clock
    ) -> None:
        self._config = config
        self._balance = balance
        self._store = store
        self._clock = clock
        self._one_weighing = asyncio.Lock()  # the next one knows whether this was kept
        self._people = PeopleService(store, clock)

    def answer(self, handlers: Handlers) -> None:
        """Answer the methods about records."""
        config, on, in_store = self._config, handlers.on, self._in_store
        self._people.answer(handlers)
        on(run_queries.RUNS, in_store(_queries.runs))
        on(run_queries.RUN, in_store(_queries.run))
        on(sample_methods.SAMPLES, in_store(_queries.samples))
        on(sample_methods.SAMPLE, in_store(_queries.sample))
        on(sample_methods.NEXT_STRESS, in_store(_queries.next_stress))
        on(bench_methods.BENCH_RECORD, in_store(_queries.bench_record))
        on(bench_methods.CONTROL_CHART, in_store(_queries.control_chart))
        on(shaker_methods.SHAKINGS, in_store(_shaker.shakings))
        on(sample_methods.ADD_SAMPLE, in_store(partial(_sample_acts.add_sample, config)))
        on(sample_methods.PLAN_STRESS, in_store(partial(_sample_acts.plan_stress, config)))
        on(choice_methods.CHOOSE_CYLINDER, in_store(_sample_acts.choose_cylinder))
        on(choice_methods.CHOOSE_SIEVE, in_store(_sample_acts.choose_sieve))
        on(choice_methods.CHOOSE_INSTRUMENT, in_store(_sample_acts.choose_instrument))
        on(sample_methods.REVIEW_SAMPLE, self._signing(_sample_acts.review_sample))
        on(sample_methods.ISSUE_REPORT, self._signing(_sample_acts.issue_report))
        on(specimen_methods.ADD_SPECIMEN, in_store(partial(_sample_acts.add_specimen, config)))
        on(specimen_methods.TICK, in_store(_sample_acts.tick))
        on(specimen_methods.DECIDE_RUN, self._signing(_sample_acts.decide_run))
        on(shaker_methods.START_SHAKING, in_store(_shaker.start_shaking))
        on(shaker_methods.END_SHAKING, in_store(_shaker.end_shaking))
        on(bench_methods.CALIBRATE_CYLINDER, in_store(_bench_acts.calibrate_cylinder))
        on(bench_methods.MAKE_DAILY_CHECK, in_store(_bench_acts.make_daily_check))
        on(mass_methods.WEIGH, self._weighing(_masses.weigh))
        on(mass_methods.CORRECT_MASS, self._weighing(_masses.correct_mass))
        for method in METHODS.values():
            if isinstance(method, Act) and not method.worked_out and method.name not in handlers:
                on(method, in_store(_plain(method)))

    def _in_store(self, work: Work[P, R]) -> Callable[[P], Awaitable[R]]:
        async def answer(params: P) -> R:
            utc_ns = self._clock.utc_ns()
            return await self._store.run(lambda store: work(store, params, utc_ns))

        return answer

    def _signing(
        self, work: Callable[[Store, G, int, OpenedKey | None], R]
    ) -> Callable[[G], Awaitable[R]]:
        async def answer(params: G) -> R:
            signer = await self._people.opened(params.operator, params.pin)
            utc_ns = self._clock.utc_ns()
            return await self._store.run(lambda store: work(store, params, utc_ns, signer))

        return answer

    def _weighing(
        self, work: Callable[[Store, M, Weighed, int], MassTaken]
    ) -> Callable[[M], Awaitable[MassTaken]]:
        async def answer(params: M) -> MassTaken:
            async with self._one_weighing:
                weighed = self._balance.weighed(params.mass_g, again=params.anyway is not None)
                utc_ns = self._clock.utc_ns()
                kept = await self._store.run(lambda store: work(store, params, weighed, utc_ns))
                self._balance.kept(weighed)
                return kept

        return answer


def _plain(act: Act[P, K]) -> Work[P, K]:
    """Serves an act whose record is its parameters, checked."""
    return lambda store, params, utc_ns: keep(store, act, params, utc_ns)
