"""The figure of a run: its load with line and band, and its deviation from the line below."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ramphold.core.decimation import decimated
from ramphold.core.trace import Floats, Trace
from ramphold.method import cell
from ramphold.report._axes import WIDTH, Plot, Scale
from ramphold.report._drawing import Anchor, Drawing, Ink, Polyline, Shape, Words
from ramphold.sample import RunFinished

_LEFT, _RIGHT = 46.0, WIDTH - 12
_TOP, _MIDDLE, _BELOW, _BOTTOM, _HEIGHT = 8.0, 90.0, 98.0, 134.0, 158.0
_COLUMNS = 560
_SEATED_S = 5.0  # shown before the ramp
_OFF_PCT = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Aim:
    """The planned line: the ramp from a time and a stress, then the hold from another time."""

    run: RunFinished
    ramp_s: float | None
    ramp_psi: float
    hold_s: float | None
    release_s: float | None

    @property
    def target_s(self) -> float:
        """When the line reaches the target."""
        return (self.ramp_s or 0.0) + (self.run.target_psi - self.ramp_psi) / self._psi_s

    @property
    def _psi_s(self) -> float:
        return self.run.rate_psi_min / 60

    def line_psi(self, t_s: Floats) -> Floats:
        """The line at each time; NaN before the ramp and after the hold."""
        if self.ramp_s is None:
            return np.full_like(t_s, math.nan)
        line = np.minimum(self.ramp_psi + (t_s - self.ramp_s) * self._psi_s, self.run.target_psi)
        if self.hold_s is not None:
            line[t_s >= self.hold_s] = self.run.target_psi
        release_s = math.inf if self.release_s is None else self.release_s
        line[(t_s < self.ramp_s) | (t_s > release_s)] = math.nan
        return line


def run_drawing(run: RunFinished, trace: Trace) -> Drawing:
    """Draw a run; without a ramp, only its load."""
    aim = _aim(run, trace)
    begin_s = max((aim.ramp_s or 0.0) - _SEATED_S, 0.0)
    first = np.searchsorted(trace.t_s, begin_s)
    t_s, stress = trace.t_s[first:], trace.stress_psi(cell.area_in2(run.bore_in))[first:]
    end_s = max(float(t_s[-1]) if t_s.size else 0.0, begin_s + 1.0)
    times = Scale(low=begin_s, high=end_s, start=_LEFT, end=_RIGHT)
    ceiling_psi = cell.stress_psi(run.ceiling_lbf, run.bore_in)
    peak_psi = cell.stress_psi(run.peak_lbf or 0.0, run.bore_in)
    top = 1.08 * max(ceiling_psi, peak_psi)
    load = Plot(times, Scale(low=0, high=top, start=_MIDDLE, end=_TOP))
    off = Plot(times, Scale(low=-_OFF_PCT, high=_OFF_PCT, start=_BOTTOM, end=_BELOW))
    shapes = (
        *_load_shapes(load, aim, ceiling_psi, t_s, stress),
        *_off_shapes(off, aim, t_s, stress),
    )
    return Drawing(width=WIDTH, height=_HEIGHT, shapes=shapes)


def _aim(run: RunFinished, trace: Trace) -> _Aim:
    came = {moment.state: moment.t_s for moment in reversed(run.moments)}
    ramp_s, start_psi = came.get("ramp"), 0.0
    if ramp_s is not None:
        at = int(np.searchsorted(trace.t_s, ramp_s - 1e-9))
        near = trace.stress_psi(cell.area_in2(run.bore_in))[max(at - 2, 0) : at + 1]
        near = near[~np.isnan(near)]
        start_psi = float(np.median(near)) if near.size else 0.0
    ended = [came[state] for state in ("release", "stopped", "interrupted") if state in came]
    return _Aim(
        run=run,
        ramp_s=ramp_s,
        ramp_psi=start_psi,
        hold_s=came.get("hold"),
        release_s=min(ended) if ended else None,
    )


def _load_shapes(
    plot: Plot, aim: _Aim, ceiling_psi: float, t_s: Floats, stress: Floats
) -> Iterator[Shape]:
    run = aim.run
    y_ticks = plot.y.ticks(5)
    if aim.hold_s is not None:
        half_psi = run.target_psi * run.band_pct / 100
        end_s = min(aim.hold_s + run.hold_s, plot.x.high)
        yield plot.box(
            Ink.BAND, (aim.hold_s, end_s), (run.target_psi - half_psi, run.target_psi + half_psi)
        )
    yield from plot.grid(plot.x.ticks(10), y_ticks)
    yield plot.level(Ink.LIMIT, ceiling_psi)
    if aim.ramp_s is not None:
        reached_s = min(aim.target_s, plot.x.high)
        end_s = max(min(aim.release_s or plot.x.high, plot.x.high), reached_s)
        corners = (
            (aim.ramp_s, aim.ramp_psi),
            (reached_s, aim.ramp_psi + (reached_s - aim.ramp_s) * run.rate_psi_min / 60),
            (end_s, run.target_psi),
        )
        drawn = corners[:2] if reached_s < aim.target_s else corners
        yield Polyline(Ink.PLAN, tuple(plot.at(*corner) for corner in drawn))
    for piece in decimated(t_s, stress, columns=_COLUMNS):
        yield Polyline(Ink.TRACE, tuple(plot.at(t, plot.inside(value)) for t, value in piece))
    words = f"ceiling {run.ceiling_lbf:.0f} lbf"
    yield Words(plot.x.start + 4, plot.y(ceiling_psi) - 2.5, words, colour="#9d2f24")
    yield plot.frame()
    yield from plot.y_axis("stress, psi", y_ticks, ".0f")


def _off_shapes(plot: Plot, aim: _Aim, t_s: Floats, stress: Floats) -> Iterator[Shape]:
    run = aim.run
    if aim.hold_s is not None:
        end_s = min(aim.hold_s + run.hold_s, plot.x.high)
        yield plot.box(Ink.BAND, (aim.hold_s, end_s), (-run.band_pct, run.band_pct))
    yield from plot.grid(plot.x.ticks(10), (-_OFF_PCT, _OFF_PCT))
    yield plot.level(Ink.PLAN, 0.0)
    off = (stress - aim.line_psi(t_s)) * (100 / run.target_psi)
    for piece in decimated(t_s, off, columns=_COLUMNS):
        yield Polyline(Ink.TRACE, tuple(plot.at(t, plot.inside(value)) for t, value in piece))
    yield plot.frame()
    yield from plot.y_axis("off line, %", (-_OFF_PCT, 0.0, _OFF_PCT), ".0f")
    yield from plot.x_axis("time since the start of the run, s", plot.x.ticks(10), "g")
    if aim.ramp_s is None:
        middle = (plot.x.start + plot.x.end) / 2
        yield Words(middle, plot.y(0.0) - 4, "the run did not reach its ramp", Anchor.MIDDLE)
