"""Which situation the press is in, from what the daemon told."""

from ramphold.core import (
    Cue,
    CueKind,
    Quality,
    RunState,
    Snapshot,
    StandingWarning,
    Verdict,
    WarningKind,
    coarse_step_pct,
)
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.pursuit_strip import SCALE_PSI
from ramphold_tui.view.situation import (
    Ask,
    Link,
    LoadLevel,
    PressSituation,
    Recording,
    RunOutcome,
    RunStage,
    Warned,
    WarnedStage,
)

# Longer than any instrument takes between two readings.
_SILENT_S = 2.0
#: A load this far over the target, in %, is over it: no pull brings it nearer.
_OVER_TARGET_PCT = 1.0
#: Shares of the contact load: under the first there is no load, over the second it is under way.
_NOTHING, _UNDER_WAY = 0.5, 5.0
#: Over this share of the target what an ended run left is no remainder of its release.
_RELEASED = 0.5
#: A jump is over at once; the word stays long enough to be read.
_JUMP_SHOWN_S = 5.0
#: Further off the mark or the line than half the strip, a little faster or slower won't do.
_FAR_PSI = SCALE_PSI / 2

_WARNED = {
    WarningKind.NOT_RECORDED: Warned.NOT_RECORDED,
    WarningKind.NO_ANSWER: Warned.NO_ANSWER,
    WarningKind.JUMPED: Warned.JUMPED,
    WarningKind.OVER_CEILING: Warned.OVER_CEILING,
    WarningKind.NEAR_RATING: Warned.NEAR_RATING,
    WarningKind.OVER_RATING: Warned.OVER_RATING,
}
#: What no longer stands once the run is over: its ceiling, the answers to its cues, its writing.
_OF_A_RUN = {
    WarningKind.NOT_RECORDED,
    WarningKind.NO_ANSWER,
    WarningKind.JUMPED,
    WarningKind.OVER_CEILING,
}
_PULLED_ON = {CueKind.SQUEEZE, CueKind.PULL_ON, CueKind.RETURN_LEVER}


def press_situation(bench: BenchState, now_ns: int) -> PressSituation:
    """All that the words at the press depend on."""
    snapshot, run = bench.snapshot, _run(bench)
    gravest = gravest_warning(bench)
    return PressSituation(
        link=_link(bench),
        run=run,
        load=_load(bench, now_ns),
        recording=_recording(bench),
        warned=Warned.NOTHING if gravest is None else _WARNED[gravest.kind],
        stage=WarnedStage.PASSED if gravest is None else warned_stage(gravest, bench),
        outcome=_outcome(bench),
        ask=Ask.NOTHING if snapshot is None else _ask(snapshot),
        coarse=run is RunStage.READY and step_pct(bench) is not None,
    )


def step_pct(bench: BenchState) -> float | None:
    """Least step of the load in % of the run's target, where it is too coarse for that."""
    if bench.snapshot is None or bench.record is None:
        return None
    plan = bench.record.plan
    return coarse_step_pct(plan.pacing, bench.snapshot.style, plan.target_psi)


def gravest_warning(bench: BenchState) -> StandingWarning | None:
    """The latched warning that matters most: one whose cause stands before one that has passed."""
    latched = [one for one in bench.warnings if one.kind.latched]
    return min(latched, key=lambda one: _GRAVITY.index(warned_stage(one, bench)), default=None)


_GRAVITY = (WarnedStage.STANDING, WarnedStage.ACKNOWLEDGED, WarnedStage.PASSED)


def warned_stage(one: StandingWarning, bench: BenchState) -> WarnedStage:
    """How far a latched warning is."""
    if one.acknowledged:
        return WarnedStage.ACKNOWLEDGED
    t_ns = bench.live.t_ns if bench.live else 0
    if not bench.running and one.kind in _OF_A_RUN:
        return WarnedStage.PASSED
    fresh = one.kind is WarningKind.JUMPED and t_ns - one.raised.t_ns < _JUMP_SHOWN_S * 1e9
    return WarnedStage.STANDING if one.persists or fresh else WarnedStage.PASSED


def force_lbf(bench: BenchState) -> float | None:
    """The load now in lbf."""
    live, snapshot = bench.live, bench.snapshot
    if live is None or live.force_lbf is None:
        return None
    # A run is judged on its filtered load, so that is shown.
    if live.run is not None and snapshot is not None and snapshot.force_lbf is not None:
        return snapshot.force_lbf
    return live.force_lbf


def is_old(bench: BenchState, now_ns: int) -> bool:
    """Whether the load is too old to rely on."""
    age_s = bench.reading_age_s(now_ns)
    if age_s is None:
        return True
    # The daemon reports a silent instrument; a silent daemon shows by the age of what it told.
    stale = bench.running and bench.snapshot is not None and bench.snapshot.stale
    limit_s = _SILENT_S
    if bench.record is not None:
        limit_s += bench.record.plan.rules.stale_s
    return stale or age_s > limit_s


def _link(bench: BenchState) -> Link:
    if bench.lost is not None:
        return Link.LOST
    return Link.OPENING if bench.live is None else Link.UP


def _run(bench: BenchState) -> RunStage:
    snapshot = bench.snapshot
    if snapshot is None:
        return RunStage.NONE
    if not bench.running and snapshot.state not in _ENDED:
        return RunStage.ENDING
    return RunStage(snapshot.state)


_ENDED = (RunState.COMPLETE, RunState.STOPPED, RunState.INTERRUPTED)


def _recording(bench: BenchState) -> Recording:
    if bench.live is not None and bench.live.unwritten:
        return Recording.FAILING
    return Recording.YES if bench.running else Recording.NO


def _outcome(bench: BenchState) -> RunOutcome:
    told = bench.live.verdict if bench.live and not bench.running else None
    if told is None:
        return RunOutcome.NONE
    if told.left_out_by or told.counts is False:
        return RunOutcome.LEFT_OUT
    if told.verdict is Verdict.PASS:
        return RunOutcome.PASSED
    return RunOutcome.COUNTS if told.counts else RunOutcome.FAILED


def _load(bench: BenchState, now_ns: int) -> LoadLevel:
    live, load_lbf = bench.live, force_lbf(bench)
    if live is not None and live.quality is Quality.SATURATED:
        return LoadLevel.SATURATED
    if live is None or load_lbf is None or is_old(bench, now_ns):
        return LoadLevel.UNKNOWN
    if load_lbf < _off_below(bench) * live.contact_lbf:
        return LoadLevel.NONE
    small = load_lbf <= _UNDER_WAY * live.contact_lbf
    usual = LoadLevel.CONTACT if small else LoadLevel.UNDER_WAY
    return _over_limit(bench, load_lbf) or _left(bench, load_lbf, live.contact_lbf) or usual


def _over_limit(bench: BenchState, load_lbf: float) -> LoadLevel | None:
    if bench.rating_lbf is not None and load_lbf > bench.rating_lbf:
        return LoadLevel.OVER_RATING
    snapshot = bench.snapshot
    if snapshot is None or not bench.running:
        return None
    if load_lbf > snapshot.ceiling_lbf:
        return LoadLevel.OVER_CEILING
    over = load_lbf > snapshot.target_lbf * (1 + _OVER_TARGET_PCT / 100)
    return LoadLevel.OVER_TARGET if over else None


def _off_below(bench: BenchState) -> float:
    """Share of a contact under which there is no load.

    A load that has come off after a run is off until there is contact again: noise about one
    limit would make a load without a run of it.
    """
    snapshot, live = bench.snapshot, bench.live
    if snapshot is None or live is None or bench.running or snapshot.rest_lbf is None:
        return _NOTHING
    return 1.0 if snapshot.rest_lbf < _NOTHING * live.contact_lbf else _NOTHING


def _left(bench: BenchState, load_lbf: float, contact_lbf: float) -> LoadLevel | None:
    """Whether the load is what an ended run left."""
    snapshot = bench.snapshot
    if snapshot is None or bench.running:
        return None
    rest_lbf = load_lbf if snapshot.rest_lbf is None else snapshot.rest_lbf
    was_off = rest_lbf < _NOTHING * contact_lbf
    rises = load_lbf > rest_lbf + contact_lbf
    left = not was_off and not rises and load_lbf < _RELEASED * snapshot.target_lbf
    return LoadLevel.RESIDUAL if left else None


def _ask(snapshot: Snapshot) -> Ask:
    cue = snapshot.cue
    if cue is None:
        slow = snapshot.too_slow_per_s is not None
        return Ask.TOO_FEW if slow else Ask.NOTHING
    ahead_psi = snapshot.deviation_psi or 0.0
    far_ahead = snapshot.state is RunState.RAMP and ahead_psi > SCALE_PSI
    if cue.kind in _PULLED_ON and far_ahead:
        return Ask.SLOWER
    if cue.kind is CueKind.WAIT and cue.size is not None and cue.due_s is not None:
        return Ask.STROKE_SOON
    if cue.kind is CueKind.WAIT:
        return Ask.LET_CATCH_UP if far_ahead else Ask.WAIT
    if cue.kind is CueKind.STROKE and ahead_psi > _worth_psi(cue):
        return Ask.LET_CATCH_UP
    return _pull(cue, ahead_psi) if cue.kind is CueKind.SQUEEZE else Ask(cue.kind)


def _worth_psi(cue: Cue) -> float:
    """What the stroke that is called should gain."""
    return (cue.after_psi or 0.0) - (cue.load_psi or 0.0)


def _pull(cue: Cue, ahead_psi: float) -> Ask:
    if cue.mark_psi is None or cue.load_psi is None:
        return Ask.SQUEEZE
    gap_psi = cue.load_psi - cue.mark_psi
    if gap_psi > _FAR_PSI:
        return Ask.SLOWER
    return Ask.FASTER if gap_psi < -_FAR_PSI and ahead_psi <= 0 else Ask.SQUEEZE
