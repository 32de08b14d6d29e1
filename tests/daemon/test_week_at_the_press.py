"""A week of random use, on the real press service and store: what the screen says is so.

Loads, runs, overloads, gaps, lost links, a disk that refuses and keys come in any order. What is
true is kept here, from what was done to the press; what is said comes from the screen's view.
"""

import asyncio
import math
import random
import sqlite3

import msgspec
import pytest

from ramphold.control.instrument_methods import InstrumentHealth
from ramphold.control.run_methods import AcknowledgeParams, EndRunParams, StartRunParams
from ramphold.control.server_methods import Status
from ramphold.core import Quality, Reading
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import PressService
from ramphold.testing import ManualClock
from ramphold_tui.view.bench_state import BenchState, LinkLost, LinkUp
from ramphold_tui.view.press_pane import press_view, strip_view
from support.configs import bench_config
from support.specimens import add_specimen

AREA_IN2 = 3.141592653589793
TARGET_LBF, CONTACT_LBF = 4000 * AREA_IN2, 20 * AREA_IN2
CEILING_LBF, RATING_LBF = 12_800.0, 47_124.0
PULLS = {"SQUEEZE", "PULL ON", "FASTER", "RETURN LEVER", "TOP UP"}
STATUS = Status(
    bench="bench-a", version="1", t_ns=0, utc_ns=0, run=None,
    instruments=(InstrumentHealth(name="load", kind="indicator", ok=True, text="ok"),),
)  # fmt: skip
WEEK_S = 7 * 86_400
STEP_S = 0.25


class Week:
    """The press, its screen, and what is true of both."""

    def __init__(self, store, path, seed):
        self.rng = random.Random(seed)
        self.clock = ManualClock(utc_ns=1_700_000_000 * 10**9)
        self.store, self.path = store, path
        self.press = PressService(bench_config(), store, self.clock, lambda *_: None)
        self.screen = BenchState().learn(LinkUp(STATUS, self.press.snapshot()), 0)
        self.linked = True
        self.lock = None
        self.loads_lbf = [0.0] * 12
        self.since_end_lbf = []
        self.seen_words = set()
        self.checked = 0

    # --- what happens --------------------------------------------------------------------------

    async def step(self, load_lbf, *, quality=Quality.GOOD):
        """One reading, a commit each second, and a look at the screen."""
        self.clock.advance(STEP_S)
        self.loads_lbf = [*self.loads_lbf[1:], load_lbf]
        force_lbf = math.nan if quality is Quality.SATURATED else load_lbf
        was_live = self.press.live is not None
        self.press.take_reading(
            Reading(t_ns=self.clock.now_ns(), force_lbf=force_lbf, quality=quality)
        )
        if self.press.live is None:
            self.since_end_lbf = [] if was_live else [*self.since_end_lbf, load_lbf]
        else:
            self.since_end_lbf = []
        if self.lock is None and self.clock.now_ns() // 250_000_000 % 4 == 0:
            await self.press.write()
        self.look()

    async def go(self, to_lbf, lasting_s):
        """A straight way to a load."""
        from_lbf, steps = self.loads_lbf[-1], max(round(lasting_s / STEP_S), 1)
        for i in range(1, steps + 1):
            await self.step(from_lbf + (to_lbf - from_lbf) * i / steps)

    async def start(self):
        if self.press.live is None:
            await self.free_disk()
            await self.press.write()
            await self.press.start(
                StartRunParams(specimen=1, operator="ab", hold_s=8.0, rate_psi_min=12_000.0)
            )

    async def crush(self):
        """A run, as good or bad as it comes."""
        rng = self.rng
        await self.start()
        await self.go(rng.uniform(0, 250), 1)
        end_lbf = TARGET_LBF * rng.choice([1.0, 1.0, 1.001, 0.995, 1.03, 1.1])
        await self.go(end_lbf, 20 * rng.choice([1.0, 1.0, 1.0, 0.5, 2.0]))
        if rng.random() < 0.3:
            await self.anything()
        await self.go(self.loads_lbf[-1], rng.choice([9.0, 9.0, 9.0, 4.0, 14.0]))
        await self.let_off()

    async def let_off(self):
        left_lbf = self.rng.choice([0.0, 0.0, 364.0, 2000.0])
        await self.go(left_lbf, 2.0)
        await self.go(left_lbf, self.rng.choice([1.0, 5.0]))

    async def anything(self):  # noqa: C901 - a case a happening
        rng = self.rng
        match rng.randrange(9):
            case 0:
                await self.go(rng.uniform(0, 9000), rng.uniform(2, 10))
            case 1:
                await self.go(self.loads_lbf[-1] + rng.uniform(100, 4000), rng.uniform(1, 5))
            case 2:
                await self.let_off()
            case 3:
                await self.lose_link()
            case 4:
                for _ in range(rng.randrange(1, 8)):
                    await self.step(self.loads_lbf[-1], quality=Quality.SATURATED)
                await self.go(self.loads_lbf[-1], 1)
            case 5:
                await self.gap()
            case 6 if self.press.live is not None:
                await self.free_disk()
                wanted = EndRunParams(reason="wrong cell", operator="ab")
                ending = asyncio.create_task(self.press.end(wanted))
                await asyncio.sleep(0)
                await self.press.write()
                await ending
                await self.go(self.loads_lbf[-1], 2)
            case 7 if self.press.live is not None or self.press.snapshot().snapshot is not None:
                await self.press.acknowledge(AcknowledgeParams(operator="ab"))
            case 8 if rng.random() < 0.1:
                await self.go(RATING_LBF * rng.uniform(0.9, 1.05), 10)
                await self.go(0.0, 5)

    async def gap(self):
        """No reading for a while; the daemon notices it by its clock."""
        self.clock.advance(self.rng.uniform(4, 40))
        self.press.pass_time(self.clock.now_ns())
        self.look(fresh=False)
        await self.go(self.loads_lbf[-1], 1)

    async def lose_link(self):
        self.linked = False
        self.screen = self.screen.learn(LinkLost("gone"), self.clock.now_ns())
        await self.go(self.rng.choice([self.loads_lbf[-1], 0.0, 5000.0]), 5)
        self.linked = True
        self.screen = self.screen.learn(LinkUp(STATUS, self.press.snapshot()), self.clock.now_ns())
        self.look()

    def refuse(self):
        """The disk takes nothing from now on."""
        if self.lock is None:
            self.lock = sqlite3.connect(self.path, isolation_level=None)
            self.lock.execute("BEGIN IMMEDIATE")

    async def free_disk(self):
        if self.lock is not None:
            self.lock.execute("ROLLBACK")
            self.lock.close()
            self.lock = None
            await self.press.write()

    # --- what is said, and what is so ----------------------------------------------------------

    def look(self, *, fresh=True):
        """Compare what the screen says with what is so."""
        now_ns, live = self.clock.now_ns(), self.press.snapshot()
        # As over the socket: what is not told is not known.
        told = msgspec.json.decode(msgspec.json.encode(live), type=type(live))
        if self.linked:
            self.screen = self.screen.learn(told, now_ns)
        view = press_view(self.screen, now_ns)
        said = view.banner
        beside = " ".join(line.text for line in view.beside)
        words = f"{said.word} | {said.detail} | {said.next} | {beside}"
        self.seen_words.add(said.name)
        self.checked += 1
        wrong = self._wrong(said, words, live, fresh=fresh)
        assert not wrong, f"{wrong}: {words} (load {self.loads_lbf[-4:]}, {live.snapshot})"
        strip_view(self.screen, now_ns)

    def _wrong(self, said, words, live, *, fresh):  # noqa: PLR0911 - a line a lie
        if not self.linked:
            return "" if said.word == "NO LINK" else "the link is down"
        if not fresh:
            return "" if said.word in {"NO READING", *ALARMS} else "there is no reading"
        running = self.press.live is not None
        pulls = said.word in PULLS or said.word.endswith("STROKE")
        if pulls and not running:
            return "a pull without a run"
        if pulls and min(self.loads_lbf[-4:]) > CEILING_LBF:
            return "a pull over the ceiling"
        if said.word in {"RELEASE", "RELEASE FULLY"} and running != (said.word == "RELEASE"):
            return "a release at the wrong time"
        told = "NOT RECORDED" in words or "NOT WRITTEN" in words
        if live.unwritten and not told and not said.name.startswith("load over"):
            return "a disk that refuses is not told"
        if "is recorded" in words and (running or live.verdict is None or live.unwritten):
            return "recorded before it is"
        return self._wrong_of_load(said, live, running=running)

    def _wrong_of_load(self, said, live, *, running):
        settled = max(self.loads_lbf[-4:]) - min(self.loads_lbf[-4:]) < 1.0
        load_lbf = self.loads_lbf[-1]
        if running or not settled or live.quality is not Quality.GOOD or said.word in ALARMS:
            return ""
        if load_lbf > CONTACT_LBF:
            if said.word == "RELEASE FULLY":
                pumped = load_lbf > min(self.since_end_lbf, default=load_lbf) + CONTACT_LBF + 1
                return "left load was pumped" if pumped else ""
            return "" if said.word == "NOT RECORDED" else "load that no run follows"
        if load_lbf > 0 or self.press.snapshot().snapshot is None:
            return ""
        if live.verdict is None:
            return "" if said.word in {"ENDING", "NOT WRITTEN", "RELEASE"} else "no verdict yet"
        wanted = {"pass": "PASSED", "fail": "FAILED"}[live.verdict.verdict]
        return "" if said.word == wanted else f"the verdict is {wanted}"


ALARMS = {"OVER RATING", "NEAR RATING", "OVER CEILING", "NO ANSWER", "LOAD JUMPED", "NO CUE"}


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2))
def test_in_a_week_of_random_use_no_word_is_false(tmp_path, seed):
    async def week():
        store = await StoreThread.open(tmp_path / "runs.sqlite3")
        try:
            await store.run(add_specimen)
            made = Week(store, tmp_path / "runs.sqlite3", seed)
            refusals = {3, 17}
            sessions = 0
            while made.clock.now_ns() < WEEK_S * 1e9:
                sessions += 1
                if sessions in refusals:
                    await made.start()
                    made.refuse()
                    await made.press.write()
                    await made.gap()
                    await made.crush()
                    await made.press.write()
                    await made.go(0.0, 3.0)
                await (made.crush() if made.rng.random() < 0.6 else made.anything())
                await made.free_disk()
                # Nobody is there for up to four hours; a reading comes all the same.
                made.clock.advance(made.rng.uniform(60, 4 * 3600))
                await made.step(made.loads_lbf[-1])
            return made
        finally:
            await store.aclose()

    made = asyncio.run(week())
    assert made.checked > 5000
    assert made.seen_words >= {
        "run passed", "run failed", "load without a run", "hold up", "link lost", "no readings",
        "hold, nothing to do", "load over the ceiling", "run over, its end not written",
    }  # fmt: skip
