"""The readings of a run for a figure: as they came, or those that keep every spike."""

import numpy as np
from msgspec import Struct

from ramphold.core import Quality
from ramphold.core.decimation import extremes, time_columns
from ramphold.core.trace import Integers, Trace
from ramphold.method import cell
from ramphold.report.run_view import RunLines, run_lines
from ramphold.sample import RunFinished

#: A column has its least and greatest stress, and its first reading that is not good.
_OF_A_COLUMN = 3
_QUALITIES = tuple(Quality)


class RunReadings(Struct, frozen=True, kw_only=True):
    """Readings of a run in a window of time, with what it was to follow.

    Attributes:
        run: its number.
        lines: what it was to follow.
        area_in2: of the bore; load over it is the stress.
        there, thinned: how many readings the window has, and whether only some of them are here.
        qualities: what the numbers in `quality` mean.
        t_s, lbf, quality: of each reading, in order; no load where it carries no number.
    """

    run: int
    lines: RunLines
    area_in2: float
    there: int
    thinned: bool
    qualities: tuple[str, ...]
    t_s: list[float]
    lbf: list[float | None]
    quality: list[int]


def run_readings(
    run: RunFinished, trace: Trace, *, begin_s: float, end_s: float, columns: int
) -> RunReadings:
    """The readings from a time to another, thinned where they are more than a figure can show.

    Args:
        run: its record.
        trace: its readings, with times since its start.
        begin_s: where the window begins; one reading before it belongs to it.
        end_s: where it ends; one reading after it belongs to it.
        columns: how many columns the figure has.
    """
    t_s = trace.t_s
    first = max(int(np.searchsorted(t_s, begin_s)) - 1, 0)
    last = min(int(np.searchsorted(t_s, end_s, side="right")) + 1, len(trace))
    window = np.arange(first, last)
    code = np.array([_QUALITIES.index(form.quality) for form in trace.forms], np.int64)
    quality = code[trace.form] if len(code) else np.empty(0, np.int64)
    shown = window
    if thinned := window.size > _OF_A_COLUMN * columns:
        shown = window[_kept(trace, window, quality, columns)]
    force = trace.force_lbf[shown]
    return RunReadings(
        run=run.run,
        lines=run_lines(run, trace),
        area_in2=cell.area_in2(run.bore_in),
        there=int(window.size),
        thinned=thinned,
        qualities=tuple(str(one) for one in _QUALITIES),
        t_s=np.round(t_s[shown], 6).tolist(),
        lbf=[one if np.isfinite(one) else None for one in force.tolist()],
        quality=quality[shown].tolist(),
    )


def _kept(trace: Trace, window: Integers, quality: Integers, columns: int) -> Integers:
    t_s = trace.t_s[window]
    bad = np.flatnonzero(quality[window])
    _, firsts = np.unique(time_columns(t_s, columns)[bad], return_index=True)
    ends = np.array([0, window.size - 1])
    spikes = extremes(t_s, trace.force_lbf[window], columns=columns)
    kept: Integers = np.unique(np.concatenate((ends, spikes, bad[firsts])))
    return kept
