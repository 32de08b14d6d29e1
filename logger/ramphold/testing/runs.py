"""Builds recorded loads: a run from its corner points, with errors in it."""

from collections.abc import Iterable, Iterator
from itertools import pairwise

from msgspec.structs import replace

from ramphold.core import Event, Reading, RunPlan, Tracker
from ramphold.method import cell

#: Corner points (time in s, stress in psi) of a run at 4000 psi within its limits.
GOOD_RUN = ((0.0, 0.0), (1.0, 0.0), (121.0, 4000.0), (242.0, 4000.0), (243.0, 0.0), (245.0, 0.0))


def drawn(
    corners: Iterable[tuple[float, float]], *, per_s: float = 10, bore_in: float = 2.0
) -> list[Reading]:
    """Readings along straight lines between corner points (time in s, stress in psi)."""
    return list(_along(list(corners), per_s, bore_in))


def _along(corners: list[tuple[float, float]], per_s: float, bore_in: float) -> Iterator[Reading]:
    start_s, end_s = corners[0][0], corners[-1][0]
    for step in range(round((end_s - start_s) * per_s) + 1):
        t_s = start_s + step / per_s
        for (t0_s, psi0), (t1_s, psi1) in pairwise(corners):
            if t0_s <= t_s <= t1_s:
                stress_psi = psi0 + (psi1 - psi0) * (t_s - t0_s) / (t1_s - t0_s)
                break
        else:
            continue
        yield Reading(t_ns=round(t_s * 1e9), force_lbf=cell.force_lbf(stress_psi, bore_in))


def with_force(readings: list[Reading], index: int, force_lbf: float) -> list[Reading]:
    """The same readings with another force in one of them."""
    return [
        *readings[:index],
        replace(readings[index], force_lbf=force_lbf),
        *readings[index + 1 :],
    ]


def fed(plan: RunPlan, readings: Iterable[Reading]) -> tuple[Tracker, list[Event]]:
    """A tracker fed with readings, and the events it gave."""
    tracker = Tracker(plan, t_ns=0)
    return tracker, [event for reading in readings for event in tracker.feed(reading)]
