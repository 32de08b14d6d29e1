"""What stands beside the word: warnings that have passed, a disk that refuses, a verdict."""

from msgspec.structs import replace

from ramphold.control.run_methods import RunEnded
from ramphold.core import StandingWarning, Verdict, WarningKind
from ramphold_tui.view import formats
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import StyledLine, Tone
from ramphold_tui.view.keys import SEEN, STYLE
from ramphold_tui.view.press_banner import cause, decision_words, warning_words, worst_words
from ramphold_tui.view.press_situation import gravest_warning, warned_stage
from ramphold_tui.view.situation import WarnedStage
from ramphold_tui.view.situation_table import OF_A_WARNING, OF_AN_OUTCOME, OF_THE_DISK

# An unknown load has a word of its own, and the cue's line says that the ceiling is near.
_IN_HEADLINES = {WarningKind.STALE, WarningKind.SATURATED, WarningKind.NEAR_CEILING}
_WITHOUT_LIMIT = {WarningKind.NO_ANSWER, WarningKind.JUMPED}
_UNSTEADY = "unsteady: the load swings to and fro: look for vibration or a loose cable"
# A top-up moves the load for less than that.
_MOVED_S = 3.0


def unseen(bench: BenchState) -> tuple[StandingWarning, ...]:
    """The latched warnings that nobody has acknowledged, the worst first."""
    return tuple(one for one in bench.warnings if one.kind.latched and not one.acknowledged)


def ringing(bench: BenchState) -> tuple[StandingWarning, ...]:
    """The unseen warnings whose cause stands."""
    return tuple(one for one in unseen(bench) if warned_stage(one, bench) is WarnedStage.STANDING)


def standing_lines(bench: BenchState, name: str) -> tuple[StyledLine, ...]:
    """The lines beside the word, the most urgent first.

    Args:
        bench: what is known.
        name: what the situation is called whose word is shown.
    """
    if bench.lost is not None or bench.live is None:
        return ()
    lines = [_warned_line(one, bench) for one in bench.warnings if _is_beside(one, bench, name)]
    if bench.live.unwritten and name not in OF_THE_DISK:
        word = "NOT RECORDED" if bench.running else "NOT WRITTEN"
        why = f"{word}: {formats.brief(cause(bench.live.unwritten))}"
        lines.insert(0, StyledLine(why, Tone.CAUTION))
    verdict = bench.live.verdict
    if verdict is not None and not bench.running and name not in OF_AN_OUTCOME:
        worst = f": {worst_words(bench)}" if verdict.verdict is Verdict.FAIL else ""
        judged = f"run {verdict.run} {_VERDICTS[verdict.verdict]}{worst}"
        lines.append(StyledLine("; ".join(filter(None, (judged, decision_words(bench))))))
    if (style := _other_style(bench)) is not None:
        lines.append(StyledLine(f"these pulls look like {style}: {STYLE} paces them so"))
    return tuple(lines)


def end_words(ended: RunEnded) -> tuple[str, Tone]:
    """What is said after the record of a run was ended by a person."""
    if ended.unwritten:
        why = formats.brief(cause(ended.unwritten))
        return f"run {ended.run} is ended and NOT WRITTEN yet: {why}", Tone.CAUTION
    return f"the record of run {ended.run} is ended and kept; the press goes on", Tone.ACT


def first_lines(lines: tuple[StyledLine, ...], width: int, rows: int) -> tuple[StyledLine, ...]:
    """As many whole lines as there are rows for, one at least; the last says how many more."""
    for count in range(len(lines), 1, -1):
        taken = _with_rest(lines, count)
        if sum(len(formats.wrapped(one.text, width)) for one in taken) <= rows:
            return taken
    return _with_rest(lines, 1)


def _with_rest(lines: tuple[StyledLine, ...], count: int) -> tuple[StyledLine, ...]:
    if len(lines) <= count:
        return lines
    last = replace(
        lines[count - 1], text=f"{lines[count - 1].text}; not shown: {len(lines) - count}"
    )
    return (*lines[: count - 1], last)


_VERDICTS = {Verdict.PASS: "passed", Verdict.FAIL: "FAILED"}


def _is_beside(one: StandingWarning, bench: BenchState, name: str) -> bool:
    """Whether a warning is said beside the word rather than by it."""
    in_word = name in OF_A_WARNING and one is gravest_warning(bench)
    if one.kind is WarningKind.NOT_RECORDED and one.persists:
        return False  # the line that says why does
    if one.kind is WarningKind.UNSTEADY and bench.live is not None:
        return bench.live.t_ns - one.raised.t_ns > _MOVED_S * 1e9
    return not in_word and one.kind not in _IN_HEADLINES


def _warned_line(one: StandingWarning, bench: BenchState) -> StyledLine:
    if one.kind is WarningKind.UNSTEADY:
        return StyledLine(_UNSTEADY, Tone.CAUTION)
    stage = warned_stage(one, bench)
    words = str(one.kind)
    if one.raised.load_lbf is not None and one.kind not in _WITHOUT_LIMIT:
        words += f", {warning_words(one, bench)}"
    if stage is WarnedStage.ACKNOWLEDGED:
        return StyledLine(f"! {words}, seen", Tone.CAUTION)
    return StyledLine(f"! {words} ({SEEN}: seen)", Tone.CAUTION)


def _other_style(bench: BenchState) -> str | None:
    snapshot = bench.snapshot
    if not bench.running or snapshot is None:
        return None
    return None if snapshot.suggested_style in (None, snapshot.style) else snapshot.suggested_style
