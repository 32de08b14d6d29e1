"""A recorded run, fed again: what an auditor does to see that the events follow from the load."""

from collections.abc import Iterable, Sequence

from ramphold.core._commands import Command
from ramphold.core._events import Event
from ramphold.core._plan import RunPlan
from ramphold.core._readings import Reading
from ramphold.core._tracker import Tracker

__all__ = ["refeed"]


def refeed(
    plan: RunPlan,
    started_t_ns: int,
    readings: Sequence[Reading],
    commands: Iterable[tuple[int, int, Command]],
) -> tuple[Tracker, list[Event]]:
    """Feed a run again, in the order in which its readings and commands came.

    Args:
        plan: the run's plan.
        started_t_ns: when it was started, in monotonic ns.
        readings: all of its readings in order.
        commands: each with how many readings had come before it, and its time in ns.

    Returns:
        The tracker as it then stands, and the events that it gave.
    """
    tracker = Tracker(plan, t_ns=started_t_ns)
    events: list[Event] = []
    fed = 0
    for after, t_ns, command in commands:
        for reading in readings[fed:after]:
            events += tracker.feed(reading)
        fed = after
        events += tracker.command(command, t_ns)
    for reading in readings[fed:]:
        events += tracker.feed(reading)
    return tracker, events
