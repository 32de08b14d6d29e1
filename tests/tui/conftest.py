"""A bench for the screen: the real control server and the real tracker, without a daemon."""

import asyncio
from collections import deque
from contextlib import asynccontextmanager
from functools import partial
from pathlib import Path

import pytest
from textual.css import stylesheet

from ramphold import __version__
from ramphold.control import (
    run_methods,
    run_queries,
    sample_methods,
    server_methods,
    specimen_methods,
)
from ramphold.control.handlers import Handlers
from ramphold.control.instrument_methods import InstrumentHealth
from ramphold.control.run_methods import Live, RunEnded
from ramphold.control.run_queries import RunDetail
from ramphold.control.server import Server
from ramphold.control.server_methods import Status
from ramphold.core import EndRun, Quality, RunPlan, Tracker
from ramphold.demo import SimulatedBench
from ramphold.sample import CRUSH, SpecimenAdded, Tick
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire import RunRecord
from ramphold_tui.app import make_app

PLAN = RunPlan(target_psi=4000.0)
SPECIMEN = SpecimenAdded(
    operator="KL", utc_ns=0, label="S-1", target_psi=4000.0, bore_in=2.0, cell="", specimen=3
)


class BenchAtRun:
    """Answers as a daemon that follows one run would, and is told how far the run is."""

    def __init__(self, path):
        self.path = path
        self.instruments = (InstrumentHealth(name="load", kind="indicator", ok=True, text="ok"),)
        self.handlers = Handlers(live_run=lambda: None if self.tracker.ended else 7)
        self.handlers.on(server_methods.STATUS, self._status)
        self.handlers.on(run_methods.SNAPSHOT, self._snapshot)
        self.handlers.on(run_queries.RUN, self._run)
        self.handlers.on(run_methods.END_RUN, self._end_run)
        self.server = Server(path, self.handlers)
        self.tracker = Tracker(PLAN, t_ns=0)
        self.newest = None
        self._coming = deque(drawn(GOOD_RUN))
        self.asked = []
        #: What is told in the place of the run, if a test says so.
        self.told = None
        self.told_record = None

    def feed_until(self, t_s):
        """Take the run up to a time."""
        while self._coming and self._coming[0].t_ns <= t_s * 1e9:
            self.newest = self._coming.popleft()
            self.tracker.feed(self.newest)

    def publish(self):
        self.server.publish(run_methods.ON_SNAPSHOT, self.live())

    def live(self):
        if self.told is not None:
            return self.told
        newest = self.newest
        return Live(
            t_ns=newest.t_ns if newest else 0,
            reading_t_ns=newest.t_ns if newest else None,
            force_lbf=newest.force_lbf if newest else None,
            quality=Quality.GOOD if newest else None,
            run=None if self.tracker.ended else 7,
            snapshot=self.tracker.snapshot(),
        )

    async def _status(self, _):
        return Status(
            bench="bench-a",
            version=__version__,
            t_ns=0,
            utc_ns=0,
            instruments=self.instruments,
            run=7,
        )

    async def _snapshot(self, _):
        return self.live()

    def record(self):
        if self.told_record is not None:
            return self.told_record
        return RunRecord(
            id=7,
            specimen=3,
            operator="KL",
            plan=PLAN,
            state=self.tracker.state,
            reason="",
            started_t_ns=0,
            started_utc_ns=0,
            ended_t_ns=None,
            ended_utc_ns=None,
            assessment=None,
        )

    async def _run(self, _):
        return RunDetail(run=self.record(), specimen=SPECIMEN, events=())

    async def _end_run(self, params):
        self.asked.append(params)
        self.tracker.command(EndRun(reason=params.reason), self.newest.t_ns)
        self.publish()
        return RunEnded(run=7, state=self.tracker.state, assessment=self.tracker.assess())


@pytest.fixture
def socket_path(tmp_path) -> Path:
    return tmp_path / "control.sock"


@pytest.fixture
def bench(socket_path):
    return BenchAtRun(socket_path)


@pytest.fixture(autouse=True, scope="session")
def _styles_are_parsed_once():
    """Keep what Textual parses: each application would parse the same styles again, twice."""
    parse, known = stylesheet.parse, {}

    def parsed(*place, variable_tokens, **how):
        colours = tuple((name, tuple(tokens)) for name, tokens in variable_tokens.items())
        key = (place, colours, tuple(how.items()))
        if key not in known:
            known[key] = list(parse(*place, variable_tokens=variable_tokens, **how))
        return known[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(stylesheet, "parse", parsed)
        yield


@pytest.fixture(autouse=True)
def _first_start(tmp_path, monkeypatch):
    """Each test is a first start of the screen, which remembers nothing."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


@asynccontextmanager
async def _shown(path, size=(80, 24)):
    app = make_app(path)
    async with app.run_test(size=size) as pilot:
        yield app, pilot


async def _until(pilot, holds):
    async with asyncio.timeout(5):
        while not holds():
            await pilot.pause()


@pytest.fixture
def shown():
    """The screen on a socket, driven by a pilot."""
    return _shown


@asynccontextmanager
async def _on_bench(folder, *, specimens=0, tests=(CRUSH,), size=(80, 24), seed=3):
    async with SimulatedBench(folder, seed=seed, speed=None) as bench:
        call = bench.client.call
        if specimens:
            came_in = sample_methods.AddSampleParams(
                laboratory_number="26-0417", client_reference="pit 3", size="20/40",
                tests=tests, operator="KL",
            )  # fmt: skip
            await call(sample_methods.ADD_SAMPLE, came_in)
            planned = sample_methods.PlanStressParams(
                sample=1, stress_psi=2000.0, replicates=specimens, operator="KL"
            )
            await call(sample_methods.PLAN_STRESS, planned)
        for number in range(1, specimens + 1):
            added = specimen_methods.AddSpecimenParams(
                label=f"S-{number}", target_psi=2000.0, operator="KL", sample=1
            )
            await call(specimen_methods.ADD_SPECIMEN, added)
            seen = specimen_methods.TickParams(specimen=number, what=Tick.CUT, operator="KL")
            await call(specimen_methods.TICK, seen)
        async with _shown(Path(bench.config.control.socket), size) as (app, pilot):
            async with asyncio.timeout(5):
                while app.bench.live is None:
                    await pilot.pause()
            yield bench, app, pilot


@pytest.fixture
def on_bench(tmp_path):
    """The real daemon on a simulated bench with the screen on it, as soon as that knows it.

    With specimens there is a sample that has them, all to be crushed at 2000 psi.
    """
    return partial(_on_bench, tmp_path)


@pytest.fixture
def until():
    """Lets the screen go on until something holds; the test fails where it never does."""
    return _until
