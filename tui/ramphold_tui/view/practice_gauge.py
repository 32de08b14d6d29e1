"""What gauge and clock show in an exercise: the task, the load, and the time since contact."""

from msgspec import Struct

from ramphold.core import Snapshot
from ramphold_tui.view import formats
from ramphold_tui.view.bench_state import BenchState

_CONTACT_LBF = 60.0


class GaugeView(Struct, frozen=True, kw_only=True):
    """The task in words, the load in lbf, and the clock in minutes and seconds."""

    task: str
    load: str
    clock: str


def contact_ns(bench: BenchState, before_ns: int | None) -> int | None:
    """When the piston first touched: the time known before, or the newest reading's."""
    live = bench.live
    touches = live is not None and (live.force_lbf or 0.0) > _CONTACT_LBF
    return live.reading_t_ns if before_ns is None and live is not None and touches else before_ns


def gauge_view(bench: BenchState, since_ns: int | None) -> GaugeView:
    """What is shown now, with the clock running since a time."""
    live = bench.live
    run_s = 0.0 if live is None or since_ns is None else (live.t_ns - since_ns) / 1e9
    return GaugeView(
        task=_task(bench.snapshot),
        load=formats.grouped(live.force_lbf if live else None),
        clock=formats.clock(run_s),
    )


def _task(snapshot: Snapshot | None) -> str:
    if snapshot is None:
        return "wait for the run"
    plan = f"to {formats.grouped(snapshot.target_lbf)} lbf at 2000 psi/min"
    return f"{plan}, hold 2 minutes, then V opens the valve"
