"""The cue of the pacing as a banner."""

from fractions import Fraction

from ramphold.core import Cue, CueKind, RunState, Snapshot
from ramphold_tui.view import formats
from ramphold_tui.view.elements import Banner, Tone

# The eye cannot use a longer countdown.
_WATCHED_S = 5.0
_FINEST = 16
# Nobody can be asked to keep closer to the mark.
_ON_MARK_PCT = 0.5


def cue_banner(cue: Cue, snapshot: Snapshot) -> Banner:
    """The cue, with the rest of the hold during one."""
    word, detail, tone = _words(cue, snapshot)
    if cue.near_ceiling:
        detail, tone = f"near ceiling: {detail}", Tone.CAUTION
    elif snapshot.state is RunState.HOLD:
        detail = f"hold, {formats.countdown(snapshot.hold_to_go_s or 0.0)} to go: {detail}"
    watched = cue.due_s is not None and 0 < cue.due_s <= _WATCHED_S
    return Banner(word=word, detail=detail, tone=tone, due_s=cue.due_s if watched else None)


def _words(cue: Cue, snapshot: Snapshot) -> tuple[str, str, Tone]:
    match cue.kind:
        case CueKind.WAIT:
            return "WAIT", _waiting(cue, snapshot), Tone.CALM
        case CueKind.STROKE:
            word, detail = f"{_stroke(cue.size)} STROKE", _after(cue, snapshot)
        case CueKind.SQUEEZE:
            word, detail = "SQUEEZE", _pull(cue, snapshot)
        case CueKind.PULL_ON:
            word, detail = "PULL ON", "the load is behind and gains nothing: pull on"
        case CueKind.HANDS_OFF:
            word, detail = "HANDS OFF", f"stop pulling: rests {_after(cue, snapshot)}"
        case CueKind.STOP:
            word, detail = "STOP", f"stop pulling: rests {_after(cue, snapshot)}"
        case CueKind.RETURN_LEVER:
            word, detail = "RETURN LEVER", "lever back up, then pull on"
        case CueKind.TOP_UP:
            word, detail = "TOP UP", "a short, slow pull before the load leaves the band"
        case CueKind.RELEASE:
            word, detail = "RELEASE", "the hold is up: bring the load down slowly, fully"
    return word, detail, Tone.ACT


def _waiting(cue: Cue, snapshot: Snapshot) -> str:
    if cue.size is None or cue.due_s is None:
        return "nothing to do"
    stroke = f"{_stroke(cue.size)} stroke".lower()
    return f"{stroke} in {formats.countdown(cue.due_s)}, {_after(cue, snapshot)}"


def _stroke(size: float | None) -> str:
    return "FULL" if size in (None, 1) else str(Fraction(size).limit_denominator(_FINEST))


def _after(cue: Cue, snapshot: Snapshot) -> str:
    after_psi = snapshot.target_psi if cue.after_psi is None else cue.after_psi
    after_lbf = after_psi * snapshot.target_lbf / snapshot.target_psi
    return f"at about {formats.psi(after_psi)}, {formats.grouped(after_lbf)} lbf"


def _pull(cue: Cue, snapshot: Snapshot) -> str:
    pull = "a slow, even pull"
    if cue.mark_psi is None or cue.load_psi is None:
        return pull
    gap_pct = (cue.load_psi - cue.mark_psi) / snapshot.target_psi * 100
    if abs(gap_pct) <= _ON_MARK_PCT:
        return f"{pull}: keep this pace"
    return f"{pull}: a little {'slower' if gap_pct > 0 else 'faster'}"
