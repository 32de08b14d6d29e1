"""The figure of a run: its load with line and band, and its deviation from the line below."""

import math
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import median

import numpy as np

from ramphold.core.decimation import decimated
from ramphold.core.doubted import Floats, doubted
from ramphold.core.trace import Trace
from ramphold.method import cell
from ramphold.report._axes import WIDTH, Plot, Scale
from ramphold.report._drawing import Anchor, Dot, Drawing, Ink, Point, Polyline, Shape, Words
from ramphold.sample import RunFinished

_LEFT, _RIGHT = 46.0, WIDTH - 12
_TOP, _MIDDLE, _BELOW, _BOTTOM, _HEIGHT = 8.0, 90.0, 98.0, 134.0, 158.0
_COLUMNS = 560
_SEATED_S = 5.0  # shown before the ramp
_OFF_PCT = 5.0
# More would hide the load; the text says how many there are.
_MOST_DOUBTED = 60


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

    def corners(self, end_s: float) -> tuple[Point, ...] | None:
        """The line as far as it was followed, up to a time; None without a ramp."""
        if self.ramp_s is None:
            return None
        run = self.run
        reached_s = min(self.target_s, end_s)
        end_s = max(min(self.release_s or end_s, end_s), reached_s)
        corners = (
            (self.ramp_s, self.ramp_psi),
            (reached_s, self.ramp_psi + (reached_s - self.ramp_s) * run.rate_psi_min / 60),
            (end_s, run.target_psi),
        )
        return corners[:2] if reached_s < self.target_s else corners

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


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPicture:
    """What is drawn of a run: its readings from shortly before the ramp, and its planned line.

    Attributes:
        aim: the planned line.
        t_s, stress: time in s and stress in psi of each reading that was not doubted.
        doubted: the same of those that no press can make.
        ceiling_psi: the ceiling as a stress.
        begin_s, end_s: the times that are shown.
    """

    aim: _Aim
    t_s: Floats
    stress: Floats
    doubted: tuple[Point, ...]
    ceiling_psi: float
    begin_s: float
    end_s: float

    @classmethod
    def of(cls, run: RunFinished, trace: Trace) -> "RunPicture":
        """The picture of a run; without a ramp, only its load."""
        aim = _aim(run, trace)
        begin_s = max((aim.ramp_s or 0.0) - _SEATED_S, 0.0)
        t_s = np.asarray(trace.t_s)
        stress = np.asarray(trace.stress_psi(cell.area_in2(run.bore_in)))
        marks = doubted(np.asarray(trace.t_ns), stress)
        first = int(np.searchsorted(t_s, begin_s))
        t_s, stress, marks = t_s[first:], stress[first:], marks[first:]
        return cls(
            aim=aim,
            t_s=t_s[~marks],
            stress=stress[~marks],
            doubted=tuple(zip(t_s[marks].tolist(), stress[marks].tolist(), strict=True)),
            ceiling_psi=cell.stress_psi(run.ceiling_lbf, run.bore_in),
            begin_s=begin_s,
            end_s=max(float(t_s[-1]) if t_s.size else 0.0, begin_s + 1.0),
        )

    @property
    def top_psi(self) -> float:
        """The greatest stress that is shown: above the ceiling and all that was not doubted."""
        known = self.stress[~np.isnan(self.stress)]
        return 1.08 * max(self.ceiling_psi, float(known.max()) if known.size else 0.0)

    def load_shapes(self, plot: Plot, columns: int, radius: float) -> Iterator[Shape]:
        """Band, ceiling, planned line, load, and each doubted reading, from back to front."""
        aim, run = self.aim, self.aim.run
        if aim.hold_s is not None:
            half_psi = run.target_psi * run.band_pct / 100
            end_s = min(aim.hold_s + run.hold_s, plot.x.high)
            band = (run.target_psi - half_psi, run.target_psi + half_psi)
            yield plot.box(Ink.BAND, (aim.hold_s, end_s), band)
        yield plot.level(Ink.LIMIT, self.ceiling_psi)
        if (corners := aim.corners(plot.x.high)) is not None:
            yield Polyline(Ink.PLAN, tuple(plot.at(*corner) for corner in corners))
        for piece in decimated(self.t_s.tolist(), self.stress.tolist(), columns=columns):
            yield Polyline(Ink.TRACE, tuple(plot.at(t, plot.inside(psi)) for t, psi in piece))
        for t_s, psi in self.doubted[:_MOST_DOUBTED]:
            yield Dot(Ink.LEFT_OUT, *plot.at(t_s, plot.inside(psi)), radius)


def run_drawing(run: RunFinished, trace: Trace) -> Drawing:
    """Draw a run; without a ramp, only its load."""
    one = RunPicture.of(run, trace)
    times = Scale(low=one.begin_s, high=one.end_s, start=_LEFT, end=_RIGHT)
    load = Plot(times, Scale(low=0, high=one.top_psi, start=_MIDDLE, end=_TOP))
    off = Plot(times, Scale(low=-_OFF_PCT, high=_OFF_PCT, start=_BOTTOM, end=_BELOW))
    ticks = load.y.ticks(5)
    words = f"ceiling {run.ceiling_lbf:.0f} lbf"
    shapes = (
        *load.grid(times.ticks(10), ticks),
        *one.load_shapes(load, _COLUMNS, 2.0),
        Words(times.start + 4, load.y(one.ceiling_psi) - 2.5, words, colour="#9d2f24"),
        load.frame(),
        *load.y_axis("stress, psi", ticks, ".0f"),
        *_off_shapes(off, one.aim, one.t_s, one.stress),
    )
    return Drawing(width=WIDTH, height=_HEIGHT, shapes=shapes)


def _aim(run: RunFinished, trace: Trace) -> _Aim:
    came = {moment.state: moment.t_s for moment in reversed(run.moments)}
    ramp_s, start_psi = came.get("ramp"), 0.0
    if ramp_s is not None:
        at = bisect_left(trace.t_s, ramp_s - 1e-9)
        near = trace.stress_psi(cell.area_in2(run.bore_in))[max(at - 2, 0) : at + 1]
        known = [one for one in near if not math.isnan(one)]
        start_psi = median(known) if known else 0.0
    ended = [came[state] for state in ("release", "stopped", "interrupted") if state in came]
    return _Aim(
        run=run,
        ramp_s=ramp_s,
        ramp_psi=start_psi,
        hold_s=came.get("hold"),
        release_s=min(ended) if ended else None,
    )


def _off_shapes(plot: Plot, aim: _Aim, t_s: Floats, stress: Floats) -> Iterator[Shape]:
    run = aim.run
    if aim.hold_s is not None:
        end_s = min(aim.hold_s + run.hold_s, plot.x.high)
        yield plot.box(Ink.BAND, (aim.hold_s, end_s), (-run.band_pct, run.band_pct))
    yield from plot.grid(plot.x.ticks(10), (-_OFF_PCT, _OFF_PCT))
    yield plot.level(Ink.PLAN, 0.0)
    off = (stress - aim.line_psi(t_s)) * (100 / run.target_psi)
    for piece in decimated(t_s.tolist(), off.tolist(), columns=_COLUMNS):
        yield Polyline(Ink.TRACE, tuple(plot.at(t, plot.inside(value)) for t, value in piece))
    yield plot.frame()
    yield from plot.y_axis("off line, %", (-_OFF_PCT, 0.0, _OFF_PCT), ".0f")
    yield from plot.x_axis("time since the start of the run, s", plot.x.ticks(10), "g")
    if aim.ramp_s is None:
        middle = (plot.x.start + plot.x.end) / 2
        yield Words(middle, plot.y(0.0) - 4, "the run did not reach its ramp", Anchor.MIDDLE)
