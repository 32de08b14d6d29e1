"""Warnings as banners, and which of them ring."""

from ramphold.core import StandingWarning, WarningKind
from ramphold_tui.view import formats
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Banner, Tone
from ramphold_tui.view.keys import SEEN

# An unknown load has a banner of its own, and the cue's line says that the ceiling is near.
_IN_HEADLINES = {WarningKind.STALE, WarningKind.SATURATED, WarningKind.NEAR_CEILING}


#: What to do where the load shown can't be the load that is.
LOAD_DOUBTS = {
    WarningKind.NO_ANSWER: "the load does not answer: go by the gauge, release if in doubt",
    WarningKind.JUMPED: "no press moves a load so fast: go by the gauge, release if in doubt",
}


_DOUBT_WORDS = {WarningKind.NO_ANSWER: "NO ANSWER", WarningKind.JUMPED: "LOAD JUMPED"}


def unseen(bench: BenchState) -> tuple[StandingWarning, ...]:
    """The latched warnings that nobody has acknowledged, the worst first."""
    return tuple(one for one in bench.warnings if one.kind.latched and not one.acknowledged)


def alarm(bench: BenchState) -> Banner | None:
    """The worst unseen warning, which takes the cue's place; None if there is none."""
    standing = unseen(bench)
    if not standing:
        return None
    gravest = standing[0]
    if gravest.kind in LOAD_DOUBTS:
        detail = f"{LOAD_DOUBTS[gravest.kind]} ({SEEN}: seen)"
        return Banner(word=_DOUBT_WORDS[gravest.kind], detail=detail, tone=Tone.ALARM)
    load = f"{formats.grouped(gravest.raised.load_lbf)} lbf"
    if not gravest.persists:
        load = f"was at {load}"
    detail = f"{load}, {_limit(gravest, bench)} ({SEEN}: seen)"
    return Banner(word=gravest.kind.upper(), detail=detail, tone=Tone.ALARM)


def quiet_warnings(bench: BenchState) -> tuple[str, ...]:
    """The standing warnings that the screen shows nowhere else."""
    said = {one.kind for one in unseen(bench)} | _IN_HEADLINES
    return tuple(str(one.kind) for one in bench.warnings if one.kind not in said)


def _limit(standing: StandingWarning, bench: BenchState) -> str:
    load_lbf, name = standing.raised.load_lbf or 0.0, standing.raised.name
    if standing.kind is WarningKind.OVER_CEILING:
        over_lbf = load_lbf - (standing.raised.limit_lbf or 0.0)
        return f"{formats.grouped(over_lbf)} lbf over the ceiling"
    left = formats.signed_gap(
        (bench.rating_lbf or 0.0) - load_lbf, "lbf", over="under", under="over", none="at"
    )
    return f"{left} the rating of the {name}"
