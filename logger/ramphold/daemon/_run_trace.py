"""The load of a run, live or ended, as points for a screen. Pure."""

import math
from collections.abc import Sequence

from ramphold.control.run_queries import LoadCurve
from ramphold.core import Event, RunState, StateChanged
from ramphold.core.decimation import decimated
from ramphold.core.trace import Trace
from ramphold.wire import RunRecord

_Lines = tuple[tuple[tuple[float, float], ...], ...]


def run_trace(run: RunRecord, trace: Trace, events: Sequence[Event], most: int) -> LoadCurve:
    """The load of a run in at most `most` points, with its line, band and limits.

    Args:
        run: the run.
        trace: all its readings.
        events: all its events in order, which give its state.
        most: how many points, at least 4.
    """
    plan = run.plan
    changes = [one for one in events if isinstance(one, StateChanged)]
    # A state that began twice, as after a lost contact, counts from the last time.
    began = {one.after: one for one in changes}
    ramp, hold = began.get(RunState.RAMP), began.get(RunState.HOLD)
    zero_ns = run.started_t_ns if ramp is None else ramp.since_ns
    hold_s = None
    if hold is not None:
        start_s = _seconds(hold.since_ns - zero_ns)
        hold_s = (start_s, start_s + plan.hold_s)
    line: tuple[tuple[float, float], ...] = ()
    if ramp is not None:
        start_psi = ramp.stress_psi or 0.0
        up_s = (plan.target_psi - start_psi) / plan.rate_psi_min * 60
        end_s = up_s + plan.hold_s if hold_s is None else hold_s[1]
        line = ((0.0, start_psi), (up_s, plan.target_psi), (max(up_s, end_s), plan.target_psi))
    half_psi = plan.target_psi * plan.rules.band_pct / 100
    return LoadCurve(
        run=run.id,
        state=changes[-1].after if changes else run.state,
        load_psi=_load(trace, zero_ns, plan.area_in2, most),
        states=tuple((_seconds(one.since_ns - zero_ns), one.after) for one in changes),
        line_psi=line,
        target_psi=plan.target_psi,
        band_psi=(plan.target_psi - half_psi, plan.target_psi + half_psi),
        hold_s=hold_s,
        ceiling_psi=plan.ceiling_lbf / plan.area_in2,
        rating_psi=plan.rating_lbf / plan.area_in2,
        area_in2=plan.area_in2,
    )


def _load(trace: Trace, zero_ns: int, area_in2: float, most: int) -> _Lines:
    t_s, psi = trace.since(zero_ns).t_s, trace.stress_psi(area_in2)
    # The last reading may need an extra column.
    columns = most // 2 - 1
    lines = decimated(t_s, psi, columns=columns)
    if sum(map(len, lines)) > most:
        # More breaks than points: draw across them.
        whole = [at for at, one in enumerate(psi) if math.isfinite(one)]
        lines = decimated([t_s[at] for at in whole], [psi[at] for at in whole], columns=columns)
    return tuple(tuple((round(t, 4), round(value, 2)) for t, value in line) for line in lines)


def _seconds(ns: int) -> float:
    return ns / 1e9
