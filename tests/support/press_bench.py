"""What the screen knows in a situation at the press: facts in, a bench that shows them out."""

from dataclasses import replace
from itertools import product

from msgspec import structs

from ramphold.control.instrument_methods import InstrumentHealth
from ramphold.control.run_methods import Live, RunVerdict
from ramphold.control.server_methods import Status
from ramphold.core import (
    Check,
    Cue,
    CueKind,
    PacingStart,
    Quality,
    Rules,
    RunPlan,
    RunState,
    Snapshot,
    StandingWarning,
    Style,
    Verdict,
    WarningKind,
    WarningRaised,
)
from ramphold.wire import RunRecord
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.situation import (
    LIVE,
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
from ramphold_tui.view.situation_row import Row
from ramphold_tui.view.situation_table import row_for

NOW_NS = 600_000_000_000
#: A large press, whose figures are as long as they get; its cell has a bore of 4 inches.
PLAN = RunPlan(target_psi=15_000.0, bore_in=4.0, rating_lbf=199_999.0, rating_name="sensor")
#: An ordinary one: 4000 psi in a bore of 2 inches.
USUAL = RunPlan(target_psi=4000.0)
#: A pump ten times too large.
COARSE = PacingStart(gain_factor=10.0, gain_sd=0.1)
KINDS = {
    Warned.NOT_RECORDED: WarningKind.NOT_RECORDED,
    Warned.NO_ANSWER: WarningKind.NO_ANSWER,
    Warned.JUMPED: WarningKind.JUMPED,
    Warned.OVER_CEILING: WarningKind.OVER_CEILING,
    Warned.NEAR_RATING: WarningKind.NEAR_RATING,
    Warned.OVER_RATING: WarningKind.OVER_RATING,
}
_DISK = "/runs.sqlite3: can't be written: its owner and mode must let the daemon write"


def possible(facts: PressSituation) -> bool:
    """Whether the daemon can tell these facts at one moment."""
    live = facts.run in LIVE
    not_written = LIVE | {RunStage.NONE, RunStage.ENDING}
    over = {LoadLevel.OVER_TARGET, LoadLevel.OVER_CEILING}
    by_run = {Warned.NOT_RECORDED, Warned.NO_ANSWER, Warned.JUMPED, Warned.OVER_CEILING}
    return (
        (facts.recording is not Recording.YES or live)
        and (facts.recording is not Recording.NO or not live)
        and (facts.load not in over or live)
        and (facts.load is not LoadLevel.RESIDUAL or facts.run not in LIVE | {RunStage.NONE})
        and (facts.outcome is RunOutcome.NONE or facts.run not in not_written)
        and (facts.link is not Link.OPENING)
        and (facts.ask is Ask.NOTHING or live)
        and (facts.ask is not Ask.LET_CATCH_UP or facts.run is RunStage.RAMP)
        and (not facts.coarse or facts.run is RunStage.READY)
        and (facts.warned not in by_run or live or facts.stage is WarnedStage.PASSED)
        and (facts.warned is not Warned.NOT_RECORDED
             or (facts.recording is Recording.FAILING) == (facts.stage is not WarnedStage.PASSED))
        and (facts.warned is Warned.NOTHING or facts.run is not RunStage.NONE
             or facts.warned not in by_run)
    )  # fmt: skip


def bench_in(facts: PressSituation, plan: RunPlan = PLAN) -> BenchState:
    """A bench of which the screen knows these facts."""
    if facts.link is Link.OPENING:
        return BenchState()
    if facts.coarse:
        plan = replace(plan, pacing=COARSE)
    load_lbf = _load_lbf(facts.load, plan)
    t_ns = NOW_NS - 20_000_000_000 if facts.load is LoadLevel.UNKNOWN else NOW_NS
    saturated = facts.load is LoadLevel.SATURATED
    live = Live(
        t_ns=NOW_NS,
        reading_t_ns=t_ns,
        force_lbf=None if saturated else load_lbf,
        quality=Quality.SATURATED if saturated else Quality.GOOD,
        run=_number(facts) if facts.run in LIVE else None,
        snapshot=None if facts.run is RunStage.NONE else _snapshot(facts, plan, load_lbf),
        rating_lbf=plan.rating_lbf,
        rating_name=plan.rating_name,
        contact_lbf=Rules().contact_psi * plan.area_in2,
        unwritten=_DISK if facts.recording is Recording.FAILING else "",
    )
    if facts.outcome is not RunOutcome.NONE:
        worst = Check(name="deviation from the line, rms", value=1234.5, unit="psi",
                      limit=(None, 600.0), passed=False)  # fmt: skip
        passed = facts.outcome is RunOutcome.PASSED
        told = RunVerdict(
            run=123,
            verdict=Verdict.PASS if passed else Verdict.FAIL,
            worst=None if passed else worst,
            counts={RunOutcome.COUNTS: True, RunOutcome.LEFT_OUT: False}.get(facts.outcome),
            decided_by="MMMM",
        )
        live = structs.replace(live, verdict=told)
    if facts.run is RunStage.NONE and facts.warned is not Warned.NOTHING:
        live = structs.replace(live, idle_warnings=(_warning(facts, plan),))
    status = Status(
        bench="bench-a", version="1", t_ns=0, utc_ns=0, run=live.run,
        instruments=(InstrumentHealth(name="load", kind="indicator", ok=True, text="ok"),),
    )  # fmt: skip
    return BenchState(
        status=status,
        lost="gone" if facts.link is Link.LOST else None,
        heard_ns=NOW_NS,
        live=live,
        record=_record(plan, live.run) if live.run else None,
    )


def example(row: Row, *, quiet: bool = False) -> PressSituation | None:
    """The facts of a row of the table; None of a row about the link.

    Beside its word stand a passed warning and a disk that refuses where that is possible, or
    nothing where all is `quiet`.
    """
    kept = (Recording.YES, Recording.NO, Recording.FAILING)
    aside = Warned.NOTHING if quiet else Warned.NEAR_RATING
    for recording, ask, load, run in product(
        kept if quiet else reversed(kept),
        row.ask or Ask,
        row.load or _likely(row),
        row.run or RunStage,
    ):
        facts = PressSituation(
            run=run,
            load=load,
            recording=recording,
            warned=min(row.warned, default=aside),
            stage=min(row.stage, default=WarnedStage.PASSED),
            outcome=min(row.outcome, default=RunOutcome.NONE),
            ask=ask,
            coarse=min(row.coarse, default=False),
        )
        if possible(facts) and row_for(facts) is row:
            return facts
    return None


_LIKELY = {
    frozenset({RunStage.READY}): LoadLevel.NONE,
    frozenset({RunStage.SEATING}): LoadLevel.CONTACT,
    frozenset({Warned.OVER_CEILING}): LoadLevel.OVER_CEILING,
    frozenset({Warned.OVER_RATING}): LoadLevel.OVER_RATING,
}


def _likely(row: Row) -> tuple[LoadLevel, ...]:
    """What the load may be in a row that fits any, the likeliest first."""
    likely = _LIKELY.get(row.warned) or _LIKELY.get(row.run) or LoadLevel.UNDER_WAY
    return (likely, *LoadLevel)


def _load_lbf(load: LoadLevel, plan: RunPlan) -> float:
    contact_lbf = Rules().contact_psi * plan.area_in2
    return {
        LoadLevel.NONE: 0.0,
        LoadLevel.RESIDUAL: 10 * contact_lbf,
        LoadLevel.CONTACT: 2 * contact_lbf,
        LoadLevel.UNDER_WAY: plan.target_lbf * 0.99,
        LoadLevel.OVER_TARGET: plan.target_lbf * 1.012,
        LoadLevel.OVER_CEILING: plan.ceiling_lbf * 1.002,
        LoadLevel.OVER_RATING: plan.rating_lbf * 1.1,
    }.get(load, plan.target_lbf * 0.9)


def _snapshot(facts: PressSituation, plan: RunPlan, load_lbf: float) -> Snapshot:
    live = facts.run in LIVE
    state = RunState.RELEASE if facts.run is RunStage.ENDING else RunState(facts.run)
    paced = state in {RunState.RAMP, RunState.HOLD}
    psi = load_lbf / plan.area_in2
    return Snapshot(
        t_ns=NOW_NS,
        reading_t_ns=NOW_NS,
        state=state,
        reason="load released before the hold was up",
        force_lbf=load_lbf,
        stress_psi=psi,
        target_psi=plan.target_psi,
        target_lbf=plan.target_lbf,
        ceiling_lbf=plan.ceiling_lbf,
        rating_lbf=plan.rating_lbf,
        line_psi=psi if paced else None,
        deviation_psi=_deviation_psi(facts) if paced else None,
        rate_psi_min=2000.0 if paced else None,
        cue=_cue(facts.ask, plan) if live else None,
        style=Style.STROKES if facts.coarse else Style.SQUEEZE,
        suggested_style=None,
        warnings=() if facts.warned is Warned.NOTHING else (_warning(facts, plan),),
        past_psi=(),
        ramp_s=60.0 if paced else None,
        hold_s=0.4 if state is RunState.HOLD else None,
        hold_to_go_s=599.0 if state is RunState.HOLD else None,
        out_of_band_s=0.0,
        peak_lbf=load_lbf,
        stale=False,
        rest_lbf=None if live else _rest_lbf(facts, load_lbf),
        too_slow_per_s=2.0 if facts.ask is Ask.TOO_FEW else None,
    )


def _rest_lbf(facts: PressSituation, load_lbf: float) -> float:
    return load_lbf if facts.load is LoadLevel.RESIDUAL else 0.0


def _deviation_psi(facts: PressSituation) -> float:
    far = {Ask.LET_CATCH_UP: 1139.0, Ask.SLOWER: 1139.0, Ask.FASTER: -1139.0}
    return far.get(facts.ask, 0.0)


def _warning(facts: PressSituation, plan: RunPlan) -> StandingWarning:
    raised = WarningRaised(
        t_ns=NOW_NS - 60_000_000_000,
        kind=KINDS[facts.warned],
        name="ceiling" if facts.warned is Warned.OVER_CEILING else plan.rating_name,
        load_lbf={
            Warned.OVER_CEILING: 1.05 * plan.ceiling_lbf,
            Warned.NEAR_RATING: 0.95 * plan.rating_lbf,
        }.get(facts.warned, 1.1 * plan.rating_lbf),
        limit_lbf=plan.ceiling_lbf,
    )
    # A jump is over at once, and stands while it is fresh.
    if facts.warned is Warned.JUMPED and facts.stage is WarnedStage.STANDING:
        raised = structs.replace(raised, t_ns=NOW_NS)
    return StandingWarning(
        raised=raised,
        persists=facts.stage is not WarnedStage.PASSED,
        acknowledged=facts.stage is WarnedStage.ACKNOWLEDGED,
    )


def _cue(ask: Ask, plan: RunPlan) -> Cue | None:
    def cue(kind: CueKind, *, off_psi: float = 0.0, size: float | None = None) -> Cue:
        psi = plan.target_psi * 0.9
        return Cue(
            t_ns=NOW_NS, kind=kind, size=size, due_s=4.0, after_psi=psi + 333.0, pace=1.0,
            mark_psi=psi - off_psi, load_psi=psi, ahead_psi=(psi,) * 4,
        )  # fmt: skip

    return {
        Ask.NOTHING: None,
        Ask.WAIT: cue(CueKind.WAIT),
        Ask.LET_CATCH_UP: cue(CueKind.WAIT),
        Ask.STROKE_SOON: cue(CueKind.WAIT, size=1 / 16),
        Ask.STROKE: cue(CueKind.STROKE, size=1 / 16),
        Ask.SQUEEZE: cue(CueKind.SQUEEZE),
        Ask.FASTER: cue(CueKind.SQUEEZE, off_psi=-500.0),
        Ask.SLOWER: cue(CueKind.SQUEEZE, off_psi=500.0),
        Ask.PULL_ON: cue(CueKind.PULL_ON),
        Ask.STOP: cue(CueKind.STOP),
        Ask.HANDS_OFF: cue(CueKind.HANDS_OFF),
        Ask.RETURN_LEVER: cue(CueKind.RETURN_LEVER),
        Ask.TOP_UP: cue(CueKind.TOP_UP),
        Ask.RELEASE: cue(CueKind.RELEASE),
        Ask.OPEN_VALVE: cue(CueKind.OPEN_VALVE),
        Ask.TOO_FEW: None,
    }[ask]


def _number(facts: PressSituation) -> int:
    # What a run's plan says is asked for once, so another press has a run of its own.
    return 124 if facts.coarse else 123


def _record(plan: RunPlan, number: int) -> RunRecord:
    return RunRecord(
        id=number, specimen=3, operator="KL", plan=plan, state=RunState.RAMP, reason="",
        started_t_ns=0, started_utc_ns=0, ended_t_ns=None, ended_utc_ns=None, assessment=None,
    )  # fmt: skip
