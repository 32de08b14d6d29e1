"""The press without a run: what could not be recorded is recorded later, before what came since."""

from ramphold.core import Rating, Reading, RunPlan
from ramphold.daemon._idle_press import IdlePress
from ramphold.daemon._live_run import LiveRun
from ramphold.testing import ManualClock
from ramphold.testing.runs import drawn
from ramphold.wire.run_part import RunBegun

RATING = Rating(rating_lbf=10_000.0, rating_name="cell", area_in2=3.1416)


def test_warnings_that_could_not_be_recorded_stay_before_those_that_came_meanwhile():
    press = IdlePress(RATING, ManualClock())

    def load(force_lbf, from_s):
        for step in range(4):
            t_ns = from_s * 10**9 + step * 100_000_000
            press.feed(Reading(t_ns=t_ns, force_lbf=force_lbf))

    load(9_500.0, 1)
    taken = press.take_unwritten()
    load(10_500.0, 2)
    press.give_back(taken)
    later = press.take_unwritten()
    assert [one.warning for one in taken] == ["near rating"]
    assert [one.warning for one in later] == ["near rating", "over rating"]


def test_readings_that_could_not_be_written_stay_before_those_that_came_meanwhile():
    plan = RunPlan(target_psi=4000)
    run = LiveRun(RunBegun(run=1, specimen=1, operator="ab", plan=plan, t_ns=0, utc_ns=0))
    first, second = (part := drawn([(0, 0), (2, 0)]))[:10], part[10:]
    for reading in first:
        run.feed(reading)
    taken = run.take_unwritten()
    for reading in second:
        run.feed(reading)
    run.give_back(taken)
    assert run.take_unwritten().readings == first + second
