"""The most important thing to know at the press, as one word and a line."""

from ramphold.core import Quality, RunState, Snapshot
from ramphold_tui.view import formats
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Banner, Tone
from ramphold_tui.view.keys import STYLE
from ramphold_tui.view.press_alarms import LOAD_DOUBTS, alarm
from ramphold_tui.view.press_cues import cue_banner

# Longer than any instrument takes between two readings.
_SILENT_S = 2.0

_STATE_WORDS = {
    RunState.READY: ("READY", "bring the piston to first contact", Tone.CALM),
    RunState.SEATING: ("SEATING", "let the piston settle, then on to the seating load", Tone.CALM),
    RunState.RAMP: ("RAMP", "keep the load on the line", Tone.ACT),
    RunState.HOLD: ("HOLD", "keep the load in the band", Tone.ACT),
    RunState.RELEASE: ("RELEASE", "the hold is up: bring the load down slowly, fully", Tone.ACT),
    RunState.COMPLETE: ("COMPLETE", "the run is recorded", Tone.CALM),
    RunState.STOPPED: ("STOPPED", "", Tone.CAUTION),
    RunState.INTERRUPTED: ("INTERRUPTED", "its readings until then are kept", Tone.CAUTION),
}
# Before contact there is nothing to pace, and after the run nothing any more.
_PACED = (RunState.SEATING, RunState.RAMP, RunState.HOLD, RunState.RELEASE)
_NEXT_STEPS = {
    RunState.READY: "the ramp begins by itself at the seating load",
    RunState.SEATING: "the ramp begins by itself at the seating load",
    RunState.RAMP: "the hold begins by itself at the target",
    RunState.HOLD: "when the hold is up, bring the load down slowly and fully",
    RunState.RELEASE: "when the load is off, empty the cell and sieve the specimen",
    RunState.COMPLETE: "empty the cell, sieve the specimen, weigh the pan",
    RunState.STOPPED: "bring the load down fully; this run can't count as complete",
    RunState.INTERRUPTED: "bring the load down fully; this run can't count as complete",
}


def banner(bench: BenchState, now_ns: int) -> Banner:
    """The first that applies: a broken link, a warning, missing readings, the cue, the state."""
    return (
        _no_link(bench, now_ns)
        or alarm(bench)
        or _no_load(bench, now_ns)
        or _of_run(bench.snapshot)
    )


def next_step(bench: BenchState) -> str:
    """What comes after the present state."""
    snapshot = bench.snapshot
    if snapshot is None:
        return ""
    if bench.running and snapshot.suggested_style not in (None, snapshot.style):
        return f"these pulls look like {snapshot.suggested_style}: {STYLE} paces them so"
    return f"next: {_NEXT_STEPS[snapshot.state]}"


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


def _no_link(bench: BenchState, now_ns: int) -> Banner | None:
    if bench.lost is not None:
        since = ""
        if bench.heard_ns is not None:
            since = f" for {formats.age((now_ns - bench.heard_ns) / 1e9)}"
        detail = f"nothing heard from the daemon{since}, trying again: go by the gauge"
        return Banner(word="NO LINK", detail=detail, tone=Tone.CAUTION)
    if bench.live is None:
        return Banner(word="LINKING", detail="waiting for the daemon", tone=Tone.FADED)
    return None


def _no_load(bench: BenchState, now_ns: int) -> Banner | None:
    if bench.live and bench.live.quality is Quality.SATURATED:
        detail = "the sensor is at its limit: go by the gauge"
        return Banner(word="SATURATED", detail=detail, tone=Tone.CAUTION)
    for one in bench.warnings:
        # Acknowledged, and still so: no cue stands, and the load is nothing to go by.
        if one.kind in LOAD_DOUBTS and one.persists:
            return Banner(word="NO CUE", detail=LOAD_DOUBTS[one.kind], tone=Tone.CAUTION)
    if not is_old(bench, now_ns):
        return None
    age_s = bench.reading_age_s(now_ns)
    since = "yet" if age_s is None else f"for {formats.age(age_s)}"
    detail = f"no reading of the load {since}: go by the gauge, look at the cable"
    return Banner(word="NO READING", detail=detail, tone=Tone.CAUTION)


def _of_run(snapshot: Snapshot | None) -> Banner:
    if snapshot is None:
        detail = "no run is being followed: the load is shown, not recorded"
        return Banner(word="NO RUN", detail=detail)
    if snapshot.cue is not None and snapshot.state in _PACED:
        return cue_banner(snapshot.cue, snapshot)
    word, detail, tone = _STATE_WORDS[snapshot.state]
    if snapshot.state is RunState.HOLD:
        detail = f"{formats.countdown(snapshot.hold_to_go_s or 0.0)} to go: {detail}"
    elif snapshot.state is RunState.STOPPED:
        detail = snapshot.reason
    return Banner(word=word, detail=detail, tone=tone)
