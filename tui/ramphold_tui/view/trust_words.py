"""How far the bench can be trusted: the worst part in two words, and all parts in lines."""

from collections.abc import Sequence

from ramphold.trust import TrustLevel, TrustPart, worst
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import StyledLine, Tone

ALL_WELL = "all well"
#: Short, since they stand on every place of a narrow terminal.
_WORDS = {TrustLevel.WELL: ALL_WELL, TrustLevel.DOUBTFUL: "DOUBT", TrustLevel.BAD: "BAD"}
_TONES = {
    TrustLevel.WELL: Tone.CALM,
    TrustLevel.DOUBTFUL: Tone.CAUTION,
    TrustLevel.BAD: Tone.CAUTION,
}


def trust_words(bench: BenchState) -> str:
    """The part that can be trusted least: `BAD clock`; empty while nothing is known."""
    found = worst(bench.trust)
    if found is None or bench.lost is not None:
        return ""
    word = _WORDS[found.level]
    return word if found.level is TrustLevel.WELL else f"{word} {found.name}"


def unusual_lines(bench: BenchState) -> tuple[StyledLine, ...]:
    """A line for each value of the configuration that stands although it is unlike any bench."""
    kept = bench.status.unusual if bench.status else ()
    return tuple(StyledLine(f"UNUSUAL   {one}", Tone.CAUTION) for one in kept)


def trust_lines(parts: Sequence[TrustPart]) -> tuple[StyledLine, ...]:
    """A line for each part, the worst first: its level, its name, and what to do."""
    order = list(TrustLevel)
    ranked = sorted(parts, key=lambda one: -order.index(one.level))
    return tuple(
        StyledLine(f"{one.level:<10}{one.name:<14}{one.text}", _TONES[one.level]) for one in ranked
    )
