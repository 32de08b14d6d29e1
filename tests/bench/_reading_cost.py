"""What a reading costs from its bytes to a committed row and an encoded snapshot, by stage.

The run is a good one of four minutes at 80 readings/s, up to the word to release, of a noisy text
indicator, committed once a second as the daemon does. The bare loop reads the same bytes with `re`,
keeps the same rows with `sqlite3` under the same settings, and writes the same snapshot with
`json`, with the load of its reading in it. It judges nothing, paces nobody and warns of nothing.
"""

import asyncio
import json
import random
import re
import sqlite3
import time
from pathlib import Path

from ramphold.control.run_methods import ON_SNAPSHOT, StartRunParams
from ramphold.core import RunState
from ramphold.daemon._reading_log import ReadingLog
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import PressService
from ramphold.instruments import force_reading
from ramphold.testing import ManualClock
from ramphold.testing.runs import drawn
from ramphold.wire import jsonrpc, load_decoder, load_profile
from support.configs import bench_config
from support.specimens import add_specimen

PER_S = 80
NS = 1_000_000_000
PROFILE = "state-comma"
CORNERS = ((0, 0), (1, 0), (121, 4000), (242, 4000))
STAGES = ("decode", "track and pace", "snapshot", "store")
BARE = re.compile(rb"(ST|US),(?:GS|NT),([+-] *[0-9.]+) *lbf")


def lines(seed=1):
    """(time in ns, bytes) of each reading, as a noisy indicator sends them."""
    rng = random.Random(seed)
    return [
        (one.t_ns, b"ST,GS,%+09.1flbf\r\n" % (max(one.force_lbf, 0) + rng.gauss(0, 0.6)))
        for one in drawn(CORNERS, per_s=PER_S)
    ]


class Stopwatch:
    """Adds up the time of each stage, in ns."""

    def __init__(self):
        self.ns = dict.fromkeys(STAGES, 0)
        self._since = time.perf_counter_ns()

    def restart(self):
        self._since = time.perf_counter_ns()

    def lap(self, stage):
        now = time.perf_counter_ns()
        self.ns[stage] += now - self._since
        self._since = now


class NoWatch:
    """Measures nothing and costs next to nothing."""

    ns = dict.fromkeys(STAGES, 0)

    def restart(self):
        pass

    def lap(self, stage):
        pass


class TimedPress(PressService):
    """The press service; what it takes to gather a snapshot is told from the rest."""

    watch = NoWatch()

    def snapshot(self):
        """As `PressService.snapshot`."""
        self.watch.lap("track and pace")
        made = super().snapshot()
        self.watch.lap("snapshot")
        return made


def stages(folder, sent):
    """Us a reading by stage; the watch itself costs about two of them."""
    watch = Stopwatch()
    asyncio.run(_ours(Path(folder) / "stages.sqlite3", sent, watch))
    return {stage: watch.ns[stage] / len(sent) / 1000 for stage in STAGES}


def ours(folder, sent):
    """Us a reading in all, with no watch on the stages; and a snapshot as it is sent."""
    return asyncio.run(_ours(Path(folder) / "ours.sqlite3", sent, NoWatch()))


async def _ours(path, sent, watch):
    store = await StoreThread.open(path)
    clock, told = ManualClock(), []

    def tell(topic, payload):
        if topic is ON_SNAPSHOT:
            told[:] = [jsonrpc.notification_line(topic.name, payload)]
            watch.lap("snapshot")

    try:
        await store.run(add_specimen)
        press = TimedPress(bench_config(), store, clock, tell)
        press.watch = watch
        started = await press.start(StartRunParams(specimen=1, operator="ab"))
        decoder, log = load_decoder(load_profile(PROFILE)), ReadingLog("lbf")
        watch.restart()
        began_ns = time.perf_counter_ns()
        for index, (t_ns, data) in enumerate(sent):
            readings = [force_reading(t_ns, frame) for frame in decoder.feed(data)]
            watch.lap("decode")
            for reading in readings:
                log.take(reading, reading)
                press.take_reading(reading)
            clock.advance((t_ns - clock.now_ns()) / NS)
            watch.lap("track and pace")
            if index == len(sent) // 4:
                in_ramp = told[0]
            if index % PER_S == PER_S - 1:
                await press.write()
                watch.lap("store")
        await press.write()
        watch.lap("store")
        all_ns = time.perf_counter_ns() - began_ns
        kept = await store.run(lambda opened: opened.runs.one(started.run))
        assert kept.state is RunState.RELEASE, kept.state
        count = await store.run(lambda opened: len(opened.runs.trace(started.run)))
        assert count == len(sent), (count, len(sent))
    finally:
        await store.aclose()
    return all_ns / len(sent) / 1000, in_ramp


def bare(folder, sent, snapshot):
    """Us a reading of a loop without any of our code."""
    body = json.loads(snapshot)
    live, run = body["params"], body["params"]["snapshot"]
    db = sqlite3.connect(Path(folder) / "bare.sqlite3", isolation_level=None)
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=FULL")
    db.execute(
        "CREATE TABLE readings (run INTEGER NOT NULL, seq INTEGER NOT NULL, t_ns INTEGER NOT NULL,"
        " raw INTEGER NOT NULL, form INTEGER NOT NULL, force_lbf REAL, PRIMARY KEY (run, seq))"
        " STRICT, WITHOUT ROWID"
    )
    waiting = []

    def commit():
        db.execute("BEGIN")
        db.executemany("INSERT INTO readings VALUES (?, ?, ?, ?, ?, ?)", waiting)
        db.execute("COMMIT")
        waiting.clear()

    began = time.perf_counter_ns()
    for kept, (t_ns, data) in enumerate(sent):
        match = BARE.fullmatch(data.strip())
        force_lbf = float(match[2])
        waiting.append((1, kept, t_ns, round(force_lbf * 10), 1, None))
        live["t_ns"] = live["reading_t_ns"] = run["t_ns"] = run["reading_t_ns"] = t_ns
        live["force_lbf"] = run["force_lbf"] = force_lbf
        run["stress_psi"] = force_lbf / 3.141592653589793
        line = json.dumps(body, separators=(",", ":")).encode() + b"\n"
        if len(waiting) == PER_S:
            commit()
    commit()
    all_ns = time.perf_counter_ns() - began
    assert json.loads(line)["params"]["force_lbf"] == force_lbf
    assert db.execute("SELECT count(*) FROM readings").fetchone() == (len(sent),)
    db.close()
    return all_ns / len(sent) / 1000
