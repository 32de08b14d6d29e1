"""A recorded run fed again gives the events that it gave."""

from ramphold.core import EndRun, RunPlan, RunState, TimePassed, Tracker, refeed
from ramphold.testing.runs import GOOD_RUN, drawn

PLAN = RunPlan(target_psi=4000)


def test_a_run_with_a_gap_and_an_end_is_the_same_when_fed_again():
    readings = [r for r in drawn(GOOD_RUN) if not 30e9 < r.t_ns < 32e9][:600]
    live = Tracker(PLAN, t_ns=0)
    events, commands = [], []
    for count, reading in enumerate(readings):
        if live.next_deadline is not None and reading.t_ns > live.next_deadline + 50_000_000:
            commands.append((count, live.next_deadline + 40_000_000, TimePassed()))
            events += live.command(TimePassed(), live.next_deadline + 40_000_000)
        events += live.feed(reading)
    commands.append((len(readings), 62_000_000_000, EndRun(reason="enough")))
    events += live.command(EndRun(reason="enough"), 62_000_000_000)
    tracker, again = refeed(PLAN, 0, readings, commands)
    assert again == events
    assert tracker.state is RunState.STOPPED
    assert len(commands) == 2


def test_a_reading_that_came_late_after_a_deadline_is_fed_in_the_order_it_came():
    readings = drawn([(0, 0), (0.4, 0)])
    late = drawn([(0.5, 0), (0.9, 0)])
    live = Tracker(PLAN, t_ns=0)
    events = [event for reading in readings for event in live.feed(reading)]
    events += live.command(TimePassed(), 950_000_000)
    for reading in late:
        events += live.feed(reading)
    _, again = refeed(PLAN, 0, readings + late, [(len(readings), 950_000_000, TimePassed())])
    assert again == events
    assert "ReadingsLost" in [type(event).__name__ for event in events]
