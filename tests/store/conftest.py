"""A store in a folder of its own, and a run to put into it."""

import math
import sqlite3

import pytest
from msgspec.structs import replace

from ramphold.core import EndRun, Quality, Reading, RunPlan, TimePassed, Tracker
from ramphold.sample import CRUSH, Load, MassTaken
from ramphold.store import Store
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.units import FORCE_UNITS
from ramphold.wire import scaled

PLAN = RunPlan(target_psi=4000)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "bench.sqlite"


@pytest.fixture
def store(path):
    with Store.open(path) as opened:
        yield opened


@pytest.fixture
def look(path):
    """Rows as any other program sees them."""

    def rows(sql, *values):
        connection = sqlite3.connect(path)
        try:
            return connection.execute(sql, values).fetchall()
        finally:
            connection.close()

    return rows


@pytest.fixture
def add_mass():
    """A function that keeps a mass of a specimen, its charge if not told otherwise."""

    def add(store, **given):
        place = {"test": CRUSH, "item": "charge", "load": Load.NET}
        sample = store.specimens.one(given["specimen"]).sample
        return store.masses.take(MassTaken(sample=sample, **place | given))

    return add


class Followed:
    """A run followed as the daemon does it, in parts as they would be committed."""

    def __init__(self, readings, *, per_part=20, end=None):
        self.tracker = Tracker(PLAN, t_ns=0)
        self.parts = []
        self.count = 0
        self._new_part()
        for reading in readings:
            due_ns = self.tracker.next_deadline
            if due_ns is not None and reading.t_ns > due_ns + 50_000_000:
                self._command(TimePassed(), due_ns + 40_000_000)
            self.part["readings"].append(reading)
            self.count += 1
            self.part["events"] += self.tracker.feed(reading)
            if self.tracker.ended:
                break
            if len(self.part["readings"]) == per_part:
                self._new_part()
        if end is not None and not self.tracker.ended:
            self._command(EndRun(reason="enough"), end)

    def all(self, name):
        return [row for part in self.parts for row in part[name]]

    def _new_part(self):
        self.part = {"readings": [], "commands": [], "events": []}
        self.parts.append(self.part)

    def _command(self, command, t_ns):
        self.part["commands"].append((self.count, t_ns, command))
        self.part["events"] += self.tracker.command(command, t_ns)

    def write(self, store, run, acknowledge=lambda _: None):
        for number, part in enumerate(self.parts[:-1]):
            store.runs.append(run, **part)
            acknowledge(number)
        store.runs.end(
            run, **self.parts[-1], assessment=self.tracker.assess(), utc_ns=9_000_000_000
        )
        acknowledge(len(self.parts) - 1)


def printed(reading, unit="lbf", exponent=0):
    """The same reading as an indicator would print it."""
    raw = round(reading.force_lbf / FORCE_UNITS[unit] / 10**exponent)
    force_lbf = scaled(raw, exponent, FORCE_UNITS[unit])
    return Reading(t_ns=reading.t_ns, force_lbf=force_lbf, raw=raw, exponent=exponent, unit=unit)


@pytest.fixture
def followed():
    """A good run with a gap in its hold, a garbled line, and a load in kN for a while."""
    readings = [printed(r) for r in drawn(GOOD_RUN, per_s=5) if not 150e9 < r.t_ns < 152e9]
    readings[100] = garbled(readings[100])
    readings[200:300] = [printed(r, "kN", -2) for r in readings[200:300]]
    return Followed(readings)


@pytest.fixture
def short():
    """A run that was ended in its ramp, with a garbled line, in parts of four readings."""
    readings = [printed(r) for r in drawn(GOOD_RUN, per_s=0.25)][:14]
    readings[5] = garbled(readings[5])
    return Followed(readings, per_part=4, end=60_000_000_000)


def garbled(reading):
    """A line that could not be read, in this one's place."""
    return replace(
        reading, force_lbf=math.nan, quality=Quality.GARBLED, raw=0, line=b"ST,GS,\xff\x00"
    )
