"""Plots of a run: load, planned line, band and ceiling."""

from collections.abc import Sequence

from msgspec import Struct

from ramphold.control.run_queries import LoadCurve
from ramphold.core import RunPlan, RunState
from ramphold_tui.view import formats
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.curve_plot import Curve, CurveKind, PlotArea

# Shown around the target during the hold, in % of it: twice the band.
_HOLD_SIGHT_PCT = 4.0
_HOLD_EDGE_S = 5.0
# Room for the release and over the ceiling.
_MORE_S = 15.0
_MORE_HIGH = 1.06
_MOST_HIGH = 1.25


class LoadPlot(Struct, frozen=True, kw_only=True):
    """Curves in an area, and the stresses in psi that are written beside it."""

    area: PlotArea
    curves: tuple[Curve, ...]
    levels: tuple[tuple[float, str], ...]


def live_plot(bench: BenchState, load: Sequence[tuple[float, float, float]]) -> LoadPlot | None:
    """The live run, or only its hold, enlarged, while that lasts.

    Args:
        bench: what is known of the run.
        load: time since the ramp began in s, least and greatest stress in psi.

    Returns:
        None if too little is known.
    """
    snapshot, record = bench.snapshot, bench.record
    if snapshot is None or record is None:
        return None
    plan = record.plan
    ramp_s = (plan.target_psi - plan.rules.seating_psi) / plan.rate_psi_min * 60
    in_hold = snapshot.state is RunState.HOLD
    # What has ended stays as it was.
    last_s = load[-1][0] if load else 0.0
    now_s = (snapshot.ramp_s or 0.0) if bench.running else last_s
    if in_hold:
        end_s = now_s + (snapshot.hold_to_go_s or 0.0)
        area = _hold_area(end_s - plan.hold_s, end_s, plan.target_psi)
    else:
        area = _run_area(plan, max(ramp_s + plan.hold_s + _MORE_S, now_s))
    line = Curve.through(
        CurveKind.LINE,
        (0.0, plan.rules.seating_psi),
        (ramp_s, plan.target_psi),
        (max(ramp_s + plan.hold_s, area.end_s if in_hold else 0.0), plan.target_psi),
    )
    limits = [plan.ceiling_lbf / plan.area_in2]
    levels = [plan.target_psi]
    if in_hold:
        band_psi = plan.target_psi * plan.rules.band_pct / 100
        limits = levels = [plan.target_psi - band_psi, plan.target_psi + band_psi]
    flat = _levels(limits, area.start_s, area.end_s)
    return LoadPlot(
        area=area,
        curves=(*flat, line, Curve(kind=CurveKind.LOAD, points=tuple(load))),
        levels=_labelled(*levels),
    )


def past_run_plot(trace: LoadCurve) -> LoadPlot | None:
    """All of an ended run, or of a live one so far; None if it has no reading."""
    load = [point for line in trace.load_psi for point in line]
    if not load:
        return None
    start_s = min(0.0, load[0][0])
    end_s = max(load[-1][0], start_s + 1.0)
    # A spike may reach the sensor's limit; the run must still be seen beside it.
    highest_psi = max(trace.ceiling_psi, *(psi for _, psi in load))
    high_psi = min(highest_psi * _MORE_HIGH, trace.ceiling_psi * _MOST_HIGH)
    area = PlotArea(start_s=start_s, end_s=end_s, low_psi=0.0, high_psi=high_psi)
    band = () if trace.hold_s is None else _levels(trace.band_psi, *trace.hold_s)
    ceiling = _levels((trace.ceiling_psi,), start_s, end_s)
    return LoadPlot(
        area=area,
        curves=(*ceiling, *band, _planned(trace), *_loads(trace)),
        levels=_labelled(trace.target_psi),
    )


def past_hold_plot(trace: LoadCurve) -> LoadPlot | None:
    """The hold of a run, enlarged, with its band and the ceiling; None if it had none."""
    if trace.hold_s is None:
        return None
    area = _hold_area(*trace.hold_s, trace.target_psi)
    limits = _levels((*trace.band_psi, trace.ceiling_psi), area.start_s, area.end_s)
    return LoadPlot(
        area=area,
        curves=(*limits, _planned(trace), *_loads(trace)),
        levels=_labelled(*trace.band_psi, trace.target_psi),
    )


def _loads(trace: LoadCurve) -> tuple[Curve, ...]:
    """Each unbroken part by itself, so that gaps stay open."""
    return tuple(Curve.through(CurveKind.LOAD, *line) for line in trace.load_psi)


def _planned(trace: LoadCurve) -> Curve:
    return Curve.through(CurveKind.LINE, *trace.line_psi)


def _levels(levels: Sequence[float], start_s: float, end_s: float) -> tuple[Curve, ...]:
    return tuple(Curve.through(CurveKind.LIMIT, (start_s, psi), (end_s, psi)) for psi in levels)


def _run_area(plan: RunPlan, end_s: float) -> PlotArea:
    high_psi = plan.ceiling_lbf / plan.area_in2 * _MORE_HIGH
    return PlotArea(start_s=0.0, end_s=end_s, low_psi=0.0, high_psi=high_psi)


def _hold_area(start_s: float, end_s: float, target_psi: float) -> PlotArea:
    sight_psi = target_psi * _HOLD_SIGHT_PCT / 100
    return PlotArea(
        start_s=start_s - _HOLD_EDGE_S,
        end_s=end_s + _HOLD_EDGE_S,
        low_psi=target_psi - sight_psi,
        high_psi=target_psi + sight_psi,
    )


def _labelled(*levels: float) -> tuple[tuple[float, str], ...]:
    return tuple((psi, formats.grouped(psi)) for psi in levels)
