"""Feeding a recorded run again, to verify that its events follow from its load."""

from collections.abc import Iterable, Sequence

from ramphold.core._commands import Command
from ramphold.core._events import Event
from ramphold.core._plan import RunPlan
from ramphold.core._readings import Reading
from ramphold.core._tracker import Tracker


def refeed(
    plan: RunPlan,
    started_t_ns: int,
    readings: Sequence[Reading],
    commands: Iterable[tuple[int, int, Command]],
) -> tuple[Tracker, list[Event]]:
    """Feed a run again, with readings and commands in their original order.

    Args:
        plan: the run's plan.
        started_t_ns: its start in monotonic ns.
        readings: all its readings in order.
        commands: each with the number of readings before it, and its time in ns.

    Returns:
        The tracker after the last input, and all its events.
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
