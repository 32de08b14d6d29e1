"""The row of the table of situations that fits the press now, with its figures put in."""

from fractions import Fraction

from msgspec.structs import replace

from ramphold.core import Check, Cue, RunState, Snapshot, StandingWarning, Style, WarningKind
from ramphold_tui.view import formats
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Banner, Tone
from ramphold_tui.view.keys import STYLE
from ramphold_tui.view.press_situation import (
    force_lbf,
    gravest_warning,
    press_situation,
    step_pct,
)
from ramphold_tui.view.situation import LIVE, PressSituation, RunStage, Warned
from ramphold_tui.view.situation_row import Row
from ramphold_tui.view.situation_table import ONWARD, row_for

# The eye cannot use a longer countdown.
_WATCHED_S = 5.0
_FINEST = 16
# Nobody can be asked to keep closer to the mark.
_ON_MARK_PCT = 0.5
_WHOLE_FROM = 20
_BY_CUE = frozenset({RunStage.SEATING, RunStage.RAMP, RunStage.HOLD})


def banner(bench: BenchState, now_ns: int) -> Banner:
    """The biggest word, its line, what comes next, colour and sound."""
    situation = press_situation(bench, now_ns)
    return filled(row_for(situation), figures(bench, now_ns, situation), bench.snapshot)


def filled(row: Row, put: dict[str, str], snapshot: Snapshot | None) -> Banner:
    """A row with figures in the places of its braces."""
    made = Banner(
        word=row.word.format_map(put),
        detail=row.sentence.format_map(put),
        tone=row.tone,
        next=row.next.format_map(put),
        name=row.name,
        sound=row.sound,
    )
    cue = None if snapshot is None or not row.ask else snapshot.cue
    if cue is None:
        return made
    if cue.near_ceiling:
        where = "over" if _is_over_ceiling(snapshot) else "near"
        made = replace(made, detail=f"{where} ceiling: {made.detail}", tone=Tone.CAUTION)
    watched = cue.due_s is not None and 0 < cue.due_s <= _WATCHED_S
    return replace(made, due_s=cue.due_s if watched else None)


def _is_over_ceiling(snapshot: Snapshot | None) -> bool:
    if snapshot is None or snapshot.force_lbf is None:
        return False
    return snapshot.force_lbf > snapshot.ceiling_lbf


def figures(bench: BenchState, now_ns: int, situation: PressSituation) -> dict[str, str]:
    """What stands in the places of the braces, as far as the situation knows it."""
    snapshot, load_lbf = bench.snapshot, force_lbf(bench)
    put = {
        "since": _since(bench, now_ns),
        "load": f"{formats.grouped(load_lbf)} lbf",
        "over_rating": _over_rating(bench, load_lbf),
        "unwritten": formats.brief(cause(bench.live.unwritten) if bench.live else ""),
        "onward": ONWARD.get(situation.run, ""),
    }
    gravest = gravest_warning(bench)
    if gravest is not None and situation.warned is not Warned.NOTHING:
        put["warned"] = warning_words(gravest, bench)
    if snapshot is None:
        return put
    put |= {
        "reason": formats.brief(snapshot.reason),
        "worst": worst_words(bench),
        "decided": decision_words(bench),
    }
    if situation.run in LIVE:
        to_go = formats.countdown(snapshot.hold_to_go_s or 0.0)
        put |= {
            "to_go": to_go,
            "hold": f"{to_go} to go: " if situation.run is RunStage.HOLD else "",
            "psi": formats.psi(snapshot.stress_psi),
            "per_s": f"{snapshot.too_slow_per_s or 0.0:.2g}",
            "deviation": deviation_words(snapshot),
        }
        if situation.coarse:
            put |= _of_step(snapshot.style, step_pct(bench) or 0.0)
        if snapshot.cue is not None and situation.run in _BY_CUE:
            put |= _of_cue(snapshot.cue, snapshot)
    return put


def warning_words(one: StandingWarning, bench: BenchState) -> str:
    """The greatest load of a warning and its limit: `up to 12 860 lbf, 60 lbf over the ceiling`."""
    load_lbf, name = one.raised.load_lbf or 0.0, one.raised.name
    was = "up to " if one.persists else "was at "
    if one.kind is WarningKind.OVER_CEILING:
        over_lbf = load_lbf - (one.raised.limit_lbf or 0.0)
        limit = f"{formats.grouped(over_lbf)} lbf over the ceiling"
    else:
        limit = _of_rating((bench.rating_lbf or 0.0) - load_lbf, name)
    return f"{was}{formats.grouped(load_lbf)} lbf, {limit}"


def worst_words(bench: BenchState) -> str:
    """The worst figure of a run that failed, and why it ended early if it did."""
    snapshot, live = bench.snapshot, bench.live
    reason = (
        formats.brief(snapshot.reason)
        if snapshot and snapshot.state is not RunState.COMPLETE
        else ""
    )
    worst = live.verdict.worst if live and live.verdict else None
    if worst is None:
        return reason
    return "; ".join(part for part in (_check_words(worst, bench), reason) if part)


def decision_words(bench: BenchState) -> str:
    """Who decided what of the run that has ended; empty while nobody has."""
    told = bench.live.verdict if bench.live else None
    if told is None:
        return ""
    if told.left_out_by:
        return f"{formats.brief(told.left_out_by)} left the specimen out of the result"
    if told.counts is None:
        return ""
    by, what = formats.brief(told.decided_by), "counts" if told.counts else "does not count"
    return f"{by} decided that the run {what}"


def cause(error: str) -> str:
    """What went wrong, without the path of the file that it happened to."""
    _, known, words = error.partition(": ")
    return f"the file {words}" if known else error


def deviation_words(snapshot: Snapshot) -> str:
    """How far the load is from the line; empty where there is none."""
    if snapshot.deviation_psi is None:
        return ""
    return formats.signed_gap(
        snapshot.deviation_psi, "psi", over="ahead", under="behind", none="on the line"
    )


def _check_words(check: Check, bench: BenchState) -> str:
    low, high = check.limit
    if check.value is None:
        return f"{check.name} could not be measured"
    value = f"{check.name.removesuffix(' time')} {_figure(check.value)} {check.unit}".rstrip()
    if low is None or high is None:
        limit = "" if high is None else f", at most {_figure(high)}"
        return f"{value}{limit}" if low is None else f"{value}, at least {_figure(low)}"
    plan = bench.record.plan if bench.record else None
    if check.name == "hold time" and plan is not None and check.value < low:
        return f"{value} of {_figure(plan.hold_s)}"
    return f"{value}, {_figure(low)} to {_figure(high)} allowed"


def _figure(value: float) -> str:
    """Whole where it is large, with a decimal place where it is not."""
    whole = abs(value) >= _WHOLE_FROM or value == int(value)
    return formats.grouped(value) if whole else f"{value:.1f}"


def _since(bench: BenchState, now_ns: int) -> str:
    if bench.lost is not None:
        if bench.heard_ns is None:
            return ""
        return f" for {formats.age((now_ns - bench.heard_ns) / 1e9)}"
    age_s = bench.reading_age_s(now_ns)
    return "yet" if age_s is None else f"for {formats.age(age_s)}"


def _over_rating(bench: BenchState, load_lbf: float | None) -> str:
    if bench.rating_lbf is None or load_lbf is None:
        return ""
    name = bench.live.rating_name if bench.live else ""
    return _of_rating(bench.rating_lbf - load_lbf, name or "weakest part")


def _of_rating(left_lbf: float, name: str) -> str:
    left = formats.signed_gap(left_lbf, "lbf", over="under", under="over", none="at")
    return f"{left} the rating of the {name}"


def _of_cue(cue: Cue, snapshot: Snapshot) -> dict[str, str]:
    stroke = _stroke(cue.size)
    return {
        "STROKE": stroke,
        "stroke": stroke.lower(),
        "due": formats.countdown(cue.due_s or 0.0),
        "after": _after(cue, snapshot),
        "pace": _pace(cue, snapshot),
    }


def _of_step(style: Style, pct: float) -> dict[str, str]:
    if style is Style.STROKES:
        step, finer = "a 1/16 stroke", f"a squeeze ({STYLE}), a smaller pump or a finer valve"
    else:
        step, finer = "a slip of the lever", "a smaller pump or a finer valve"
    return {"step": step, "step_pct": f"{pct:.1f}", "finer": finer}


def _stroke(size: float | None) -> str:
    return "FULL" if size in (None, 1) else str(Fraction(size).limit_denominator(_FINEST))


def _after(cue: Cue, snapshot: Snapshot) -> str:
    after_psi = snapshot.target_psi if cue.after_psi is None else cue.after_psi
    after_lbf = after_psi * snapshot.target_lbf / snapshot.target_psi
    return f"about {formats.psi(after_psi)}, {formats.grouped(after_lbf)} lbf"


def _pace(cue: Cue, snapshot: Snapshot) -> str:
    if cue.mark_psi is None or cue.load_psi is None:
        return "keep this pace"
    gap_pct = (cue.load_psi - cue.mark_psi) / snapshot.target_psi * 100
    if abs(gap_pct) <= _ON_MARK_PCT:
        return "keep this pace"
    return f"a little {'slower' if gap_pct > 0 else 'faster'}"
