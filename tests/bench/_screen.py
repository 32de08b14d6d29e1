"""What a person at the press sees of a run: the rendered screen."""

from ramphold.control.run_methods import Live
from ramphold.core import ENDED, Acknowledge, Event, Quality, Snapshot, Tracker
from ramphold.demo.press_screen import press_screen
from ramphold.sim import Screen

_SEEN_NS = 2_000_000_000


def rendered(snapshot: Snapshot, t_ns: int) -> Screen:
    """The screen that shows a run as of `t_ns`."""
    live = Live(
        t_ns=t_ns,
        reading_t_ns=snapshot.reading_t_ns,
        # The daemon tells the raw load, which is there two readings before the filtered one.
        force_lbf=snapshot.force_lbf or 0.0,
        quality=Quality.GOOD,
        run=None if snapshot.state in ENDED else 1,
        snapshot=snapshot,
    )
    return press_screen(live)


def gauge(snapshot: Snapshot) -> Screen:
    """A number alone, in whole psi: what the unaided have."""
    return Screen(
        word="", stress="--" if snapshot.stress_psi is None else f"{snapshot.stress_psi:.0f}"
    )


def seen_warnings(tracker: Tracker, t_ns: int) -> list[Event]:
    """What a person does about a latched warning: says after 2 s that it was seen."""
    for one in tracker.snapshot().warnings:
        if one.kind.latched and not one.acknowledged and t_ns - one.raised.t_ns >= _SEEN_NS:
            return tracker.command(Acknowledge(), t_ns)
    return []
