"""What the trace shows of a run: load, planned line, band and ceiling. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from ramphold.core import RunPlan, RunState, Snapshot
from ramphold_tui import formats
from ramphold_tui.bench import Bench
from ramphold_tui.plot import Area, Curve, Kind

__all__ = ["Picture", "picture"]

# Around the target, in % of it, while the hold is in sight: twice the band.
_HOLD_SIGHT_PCT = 4.0
_HOLD_EDGE_S = 5.0
# Room for the release and over the ceiling.
_MORE_S = 15.0
_MORE_HIGH = 1.06


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Curves in an area, and the stresses in psi to be written beside it."""

    area: Area
    curves: tuple[Curve, ...]
    levels: tuple[tuple[float, str], ...]


def picture(bench: Bench, load: Sequence[tuple[float, float, float]]) -> Picture | None:
    """The whole run, or the hold alone, nearer, while that goes on.

    Args:
        bench: what is known of the run; None is returned where that is too little.
        load: time since the ramp began in s, least and greatest stress in psi.
    """
    snapshot, record = bench.snapshot, bench.record
    if snapshot is None or record is None:
        return None
    plan = record.plan
    ramp_s = (plan.target_psi - plan.rules.seating_psi) / plan.rate_psi_min * 60
    in_hold = snapshot.state is RunState.HOLD
    area = _hold_area(snapshot, plan) if in_hold else _run_area(snapshot, plan, ramp_s)
    line = Curve.through(
        Kind.LINE,
        (0.0, plan.rules.seating_psi),
        (ramp_s, plan.target_psi),
        (max(ramp_s + plan.hold_s, area.end_s if in_hold else 0.0), plan.target_psi),
    )
    limits = [plan.ceiling_lbf / plan.area_in2]
    levels = [plan.target_psi]
    if in_hold:
        band_psi = plan.target_psi * plan.rules.band_pct / 100
        limits = levels = [plan.target_psi - band_psi, plan.target_psi + band_psi]
    flat = [Curve.through(Kind.LIMIT, (area.start_s, y), (area.end_s, y)) for y in limits]
    return Picture(
        area=area,
        curves=(*flat, line, Curve(kind=Kind.LOAD, points=tuple(load))),
        levels=tuple((psi, formats.grouped(psi)) for psi in levels),
    )


def _run_area(snapshot: Snapshot, plan: RunPlan, ramp_s: float) -> Area:
    planned_s = ramp_s + plan.hold_s + _MORE_S
    top_psi = plan.ceiling_lbf / plan.area_in2 * _MORE_HIGH
    return Area(
        start_s=0.0, end_s=max(planned_s, snapshot.ramp_s or 0.0), low_psi=0.0, high_psi=top_psi
    )


def _hold_area(snapshot: Snapshot, plan: RunPlan) -> Area:
    end_s = (snapshot.ramp_s or 0.0) + (snapshot.hold_to_go_s or 0.0)
    sight_psi = plan.target_psi * _HOLD_SIGHT_PCT / 100
    return Area(
        start_s=end_s - plan.hold_s - _HOLD_EDGE_S,
        end_s=end_s + _HOLD_EDGE_S,
        low_psi=plan.target_psi - sight_psi,
        high_psi=plan.target_psi + sight_psi,
    )
