"""The readings of a run for a figure: as they came, or those that keep every spike."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from msgspec import Struct

from ramphold.core import Quality
from ramphold.core.decimation import extremes, time_column
from ramphold.core.trace import Floats, Trace
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
    first = max(bisect_left(t_s, begin_s) - 1, 0)
    last = min(bisect_right(t_s, end_s) + 1, len(trace))
    t_s, lbf = t_s[first:last], trace.force_lbf[first:last]
    codes = [_QUALITIES.index(form.quality) for form in trace.forms]
    quality = [codes[one] for one in trace.form[first:last]]
    shown: Sequence[int] = range(len(t_s))
    if thinned := len(t_s) > _OF_A_COLUMN * columns:
        shown = _kept(t_s, lbf, quality, columns)
    return RunReadings(
        run=run.run,
        lines=run_lines(run, trace),
        area_in2=cell.area_in2(run.bore_in),
        there=len(t_s),
        thinned=thinned,
        qualities=tuple(str(one) for one in _QUALITIES),
        t_s=[round(t_s[at], 6) for at in shown],
        lbf=[lbf[at] if math.isfinite(lbf[at]) else None for at in shown],
        quality=[quality[at] for at in shown],
    )


def _kept(t_s: Floats, lbf: Floats, quality: Sequence[int], columns: int) -> list[int]:
    column, firsts = time_column(t_s, columns), dict[int, int]()
    for at, one in enumerate(quality):
        if one:
            firsts.setdefault(column(t_s[at]), at)
    spikes = extremes(t_s, lbf, columns=columns)
    return sorted({0, len(t_s) - 1, *spikes, *firsts.values()})
