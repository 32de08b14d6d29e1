"""What the pacing knows of each hand, a line each, for the instruments place and the command."""

from collections.abc import Iterator

from ramphold.control.hand_methods import HandKnown, HandsKnown
from ramphold.core import PacingStart, coarse_below_psi
from ramphold_tui.view import formats
from ramphold_tui.view.elements import StyledLine, Tone

_HAND, _ANSWERS, _GAIN, _AGAIN = 18, 11, 16, 14


def hand_lines(found: HandsKnown) -> tuple[StyledLine, ...]:
    """A head, the hands with the newest run first, and what any other hand starts from.

    Last, below which target the press is too coarse for 1 %.
    """
    return tuple(_lines(found))


def hand_name(known: HandKnown) -> str:
    """A hand and its press."""
    return f"{known.hand} at {known.press}"


def _lines(found: HandsKnown) -> Iterator[StyledLine]:
    head = ("hand", "answers", "gain", "said again", "by")
    yield StyledLine(_row(*head), Tone.FADED)
    for one in sorted(found.hands, key=lambda known: -known.utc_ns):
        if one.learned is None:
            yield StyledLine(f"{hand_name(one):<{_HAND}}! not used: {one.trouble}", Tone.CAUTION)
            continue
        again = f"{one.learned.said_again} of {one.learned.cues}"
        by = f"run {one.run}, {formats.day(one.utc_ns)}"
        yield StyledLine(_row(hand_name(one), *_figures(one.start), again, by))
    by = "a usual press"
    if found.trial_utc_ns is not None:
        by = f"trial of {formats.day(found.trial_utc_ns)}"
    yield StyledLine(_row("a new hand", *_figures(found.new_hand), "", by), Tone.FADED)
    yield StyledLine(_coarse(found), Tone.FADED)


def _coarse(found: HandsKnown) -> str:
    """By the surest of what is known of the press's gain."""
    starts = [found.new_hand, *(one.start for one in found.hands if one.learned is not None)]
    below_psi = round(coarse_below_psi(min(starts, key=lambda start: start.gain_sd)), -1)
    return (
        f"below about {formats.psi(below_psi)} a slip of the lever is over 1 %: smaller pump, valve"
    )


def _figures(start: PacingStart) -> tuple[str, str]:
    return (
        f"{start.delay_s:.2f} s",
        f"{start.gain_factor:.2f} ± {100 * start.gain_sd:.0f} %",
    )


def _row(hand: str, answers: str, gain: str, again: str, by: str) -> str:
    columns = f"{hand:<{_HAND}}{answers:<{_ANSWERS}}{gain:<{_GAIN}}{again:<{_AGAIN}}{by}"
    return columns.rstrip()
