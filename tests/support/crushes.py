"""Writes a specimen's run straight into a database: the press has its own tests."""

from ramphold.core import EndRun, RunPlan, Tracker
from ramphold.testing.runs import GOOD_RUN, drawn


def crush(store, specimen, *, fails=False):
    """Store a complete run at 4000 psi, or one that was ended half-way; its number."""
    plan = RunPlan(target_psi=4000)
    tracker, readings = Tracker(plan, t_ns=0), drawn(GOOD_RUN, per_s=5)
    readings = readings[: len(readings) // 2] if fails else readings
    events = [event for one in readings for event in tracker.feed(one)]
    if not tracker.ended:
        events += tracker.command(EndRun(reason="enough"), readings[-1].t_ns + 1)
    run = store.runs.begin(specimen=specimen, operator="KL", plan=plan, t_ns=0, utc_ns=1)
    store.runs.end(run, readings=readings, events=events, assessment=tracker.assess(), utc_ns=2)
    return run
