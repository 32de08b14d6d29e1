"""What a run taught of a hand on a press starts the next run by both, until it is forgotten."""

import asyncio
import contextlib
import sqlite3
from dataclasses import replace

import pytest
from msgspec import structs

from ramphold.control.act import NoParams
from ramphold.control.bench_methods import KeepTrialParams
from ramphold.control.hand_methods import FORGET_HAND, HANDS, ForgetHandParams
from ramphold.control.handlers import Handlers
from ramphold.control.run_methods import StartRunParams
from ramphold.core import TRIAL, PacingStart, judge_trial
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.pacing_service import PacingService
from ramphold.daemon.press import PressService
from ramphold.daemon.trial_file import TrialFile
from ramphold.errors import CommandRefused, PlanError
from ramphold.testing import ManualClock
from ramphold.testing.runs import drawn
from support.configs import bench_config
from support.per_test import with_opened
from support.specimens import add_specimen

CONFIG = bench_config()
P1, P2 = "P1", "P2"
# Told to stop before the target, this hand answers late.
LATE_HAND = [(0, 0), (1, 0), (121.8, 4027), (150, 3990), (242, 3980), (243, 0), (245, 0)]


class Bench:
    """Press and pacing over a real store; each run is of a specimen of its own."""

    def __init__(self, store, path):
        self.clock = ManualClock(utc_ns=1_700_000_000 * 10**9)
        self.store, self.path = store, path
        trial = TrialFile(path)
        self.pacing = PacingService(P1, trial, store, self.clock)
        self.press = PressService(
            CONFIG, store, self.clock, lambda *_: None, pacing=self.pacing.start
        )
        self.handlers = Handlers(live_run=lambda: self.press.live_run)
        self.pacing.answer(self.handlers)

    async def start(self, operator, press=P1):
        """Begin a run; what it starts from."""
        specimen = (await self.store.run(lambda store: add_specimen(store, press=press))).specimen
        plan = (await self.press.start(StartRunParams(specimen=specimen, operator=operator))).plan
        return plan.pacing

    async def crush(self, operator, press=P1, corners=LATE_HAND):
        """A whole run; what it started from."""
        pacing = await self.start(operator, press)
        begun_ns = self.clock.now_ns()
        for reading in drawn(corners):
            self.clock.advance((begun_ns + reading.t_ns - self.clock.now_ns()) / 1e9)
            self.press.take_reading(structs.replace(reading, t_ns=self.clock.now_ns()))
        await self.press.write()
        return pacing

    async def hands(self):
        return await self.handlers.call(HANDS, NoParams())

    async def forget(self, hand, press=None):
        params = ForgetHandParams(operator="MB", hand=hand, press=press)
        return await self.handlers.call(FORGET_HAND, params)

    def spoil(self, body):
        """Change what is kept of every hand, from outside the program."""
        with contextlib.closing(sqlite3.connect(self.path, isolation_level=None)) as other:
            other.execute("DROP TRIGGER events_update")
            other.execute("UPDATE events SET body = ? WHERE kind = 'HandLearned'", (body,))


@contextlib.asynccontextmanager
async def bench(tmp_path):
    store = await StoreThread.open(tmp_path / "runs.sqlite3")
    try:
        yield Bench(store, tmp_path / "runs.sqlite3")
    finally:
        await store.aclose()


#: Runs a test's coroutine with a bench of its own.
on_bench = with_opened(bench)


def trial_of(start):
    trial = judge_trial([(step, []) for step in TRIAL])
    return KeepTrialParams(operator="MB", trial=structs.replace(trial, start=start))


@on_bench
async def test_the_next_run_by_the_same_hand_on_the_same_press_starts_from_the_last(made):
    assert await made.crush("KL") == PacingStart()
    (known,) = (await made.hands()).hands
    assert (known.hand, known.press, known.run) == ("KL", P1, 1)
    assert known.learned.start.delay_s > PacingStart().delay_s
    assert await made.crush("KL") == known.start == known.learned.start
    assert await made.crush("AB") == PacingStart(), "another hand"
    assert await made.crush("KL", P2) == PacingStart(), "another press"


@on_bench
async def test_a_run_that_was_not_complete_changes_nothing_of_what_is_known(made):
    await made.crush("KL")
    before = (await made.hands()).hands
    await made.crush("KL", corners=[(0, 0), (1, 0), (60, 2000), (61, 0), (64, 0)])
    assert (await made.hands()).hands == before


def test_a_restart_of_the_daemon_keeps_it(tmp_path):
    async def body():
        async with bench(tmp_path) as made:
            await made.crush("KL")
            learned = (await made.hands()).hands
        async with bench(tmp_path) as again:
            assert (await again.hands()).hands == learned
            assert await again.start("KL") == learned[0].start

    asyncio.run(body())


@on_bench
async def test_a_forgotten_hand_starts_like_a_new_one_and_is_learned_anew(made):
    for operator, press in (("KL", P1), ("KL", P2), ("AB", P1)):
        await made.crush(operator, press)
    forgotten = await made.forget("KL")
    assert (forgotten.operator, forgotten.hand, forgotten.press) == ("MB", "KL", P1)
    assert {(one.hand, one.press) for one in (await made.hands()).hands} == {("KL", P2), ("AB", P1)}
    assert await made.crush("KL") == PacingStart()
    assert len((await made.hands()).hands) == 3


@on_bench
async def test_a_run_that_was_live_when_its_hand_was_forgotten_teaches_nothing_either(made):
    await made.crush("KL")
    await made.start("KL")
    await made.forget("KL")
    begun_ns = made.clock.now_ns()
    for reading in drawn(LATE_HAND):
        made.clock.advance((begun_ns + reading.t_ns - made.clock.now_ns()) / 1e9)
        made.press.take_reading(structs.replace(reading, t_ns=made.clock.now_ns()))
    await made.press.write()
    assert (await made.hands()).hands == ()


@on_bench
async def test_a_hand_of_which_nothing_is_known_can_not_be_forgotten(made):
    await made.crush("KL")
    for hand, press in (("AB", P1), ("KL", P2)):
        with pytest.raises(CommandRefused, match=f"nothing is known of the hand of {hand} at"):
            await made.forget(hand, press)


@pytest.mark.parametrize(
    "body",
    [
        "", "null", "{}", '{"type":"HandLearned"}',
        '{"type":"ReadingsLost","t_ns":1,"since_ns":1}',
        '{"type":"HandLearned","t_ns":1,"start":{"delay_s":50},"cues":1,"said_again":0}',
        '{"type":"HandLearned","t_ns":1,"start":{"gain_factor":"x"},"cues":1,"said_again":0}',
    ],
)  # fmt: skip
def test_a_spoilt_value_is_refused_in_one_line_and_the_press_works_on(tmp_path, caplog, body):
    @on_bench
    async def test(made):
        await made.crush("KL")
        made.spoil(body)
        assert await made.crush("KL") == PacingStart()
        (line,) = [one for one in caplog.messages if "is not used" in one]
        assert line.startswith("what is kept of KL at P1 is not used: run 1: ")
        assert "\n" not in line
        (known,) = (await made.hands()).hands
        assert (known.run, known.trouble) == (2, ""), "the run since has taught it again"

    test(tmp_path)


@on_bench
async def test_a_spoilt_value_is_told_where_the_hands_are_shown(made):
    await made.crush("KL")
    made.spoil("{}")
    (known,) = (await made.hands()).hands
    assert known.learned is None
    assert known.trouble.startswith("run 1: ")
    assert known.start == PacingStart()


@on_bench
async def test_a_new_hand_starts_from_the_trial_and_a_known_one_takes_a_newer_trials_gain(made):
    await made.crush("KL")
    made.clock.advance(60)
    tried = PacingStart(gain_factor=1.3, gain_sd=0.4)
    kept = await made.pacing.keep_trial(trial_of(tried))
    assert kept.start == tried
    found = await made.hands()
    (known,) = found.hands
    assert found.new_hand == tried
    assert known.start == replace(known.learned.start, gain_factor=1.3, gain_sd=0.4)
    assert await made.start("AB") == tried


@on_bench
async def test_a_trial_that_can_not_be_right_is_not_kept(made):
    with pytest.raises(PlanError, match=r"gain_factor is 200: expected 0\.09 to 11"):
        await made.pacing.keep_trial(trial_of(PacingStart(gain_factor=200.0)))
    assert await made.start("AB") == PacingStart()
