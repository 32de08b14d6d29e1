"""The bars at the press: the time held, and how close the load is to its limits."""

from ramphold.core import Snapshot
from ramphold_tui.view import formats
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Meter, Tone

# Closer to a limit than this, in % of it, the bar asks for attention.
_NEAR_PCT = 1.0


def meters(bench: BenchState, force_lbf: float | None) -> tuple[Meter, ...]:
    """Hold, ceiling and rating for the load now; only the rating while no run is live."""
    snapshot = bench.snapshot
    if snapshot is None or not bench.running:
        rating_lbf = bench.rating_lbf
        return () if rating_lbf is None else (_margin("rating", force_lbf, rating_lbf),)
    return (
        _hold(bench, snapshot),
        _margin("ceiling", force_lbf, snapshot.ceiling_lbf),
        _margin("rating", force_lbf, snapshot.rating_lbf),
    )


def _hold(bench: BenchState, snapshot: Snapshot) -> Meter:
    planned_s = bench.record.plan.hold_s if bench.record else None
    if snapshot.hold_s is None or snapshot.hold_to_go_s is None:
        text = "" if planned_s is None else f"{planned_s:g} s planned"
        return Meter(label="hold", share=0.0, text=text, brief=text, tone=Tone.FADED)
    held, to_go = f"{snapshot.hold_s:.0f} s", formats.countdown(snapshot.hold_to_go_s)
    out = ""
    if round(snapshot.out_of_band_s, 1):
        out = f", {snapshot.out_of_band_s:.1f} s out of band"
    whole_s = planned_s or snapshot.hold_s + snapshot.hold_to_go_s
    return Meter(
        label="hold",
        # A hold that was let off at once has neither.
        share=min(1.0, snapshot.hold_s / whole_s) if whole_s else 0.0,
        text=f"{held} held, {to_go} to go{out}",
        brief=f"{held}, {to_go} to go",
    )


def _margin(label: str, force_lbf: float | None, limit_lbf: float) -> Meter:
    limit = f"{formats.grouped(limit_lbf)} lbf"
    if force_lbf is None:
        return Meter(label=label, share=0.0, text=limit, brief=limit)
    left_lbf = limit_lbf - force_lbf
    where = formats.signed_gap(left_lbf, "lbf", over="below", under="OVER", none="AT IT")
    tone = Tone.CALM
    if left_lbf < limit_lbf * _NEAR_PCT / 100:
        tone = Tone.ALARM if left_lbf < 0 else Tone.CAUTION
    share = max(0.0, min(1.0, force_lbf / limit_lbf))
    return Meter(label=label, share=share, text=f"{limit}, {where}", brief=where, tone=tone)
