"""Load and mark on one strip, with what comes and what went, in character cells. Pure.

The middle column is the mark: where the load should be once the hand has answered. Whoever pulls
at the even pace of the ramp keeps his distance to it. Above it comes what the mark does in the
next seconds against that even pace, below it where the load was.
"""

from msgspec import Struct

from ramphold.core import RunState, Snapshot
from ramphold_tui.view.glyphs import Marks

# Full deflection is as far as the line climbs in this time: what a hand can close does not go by
# the target. At 4000 psi it is twice the hold's band.
_SCALE_S = 4.8
_EVEN_PSI_S = 2000 / 60
#: Full deflection of the strip to either side, in psi.
SCALE_PSI = _SCALE_S * _EVEN_PSI_S
_ON_LINE = (RunState.RAMP, RunState.HOLD)
#: Full deflection of the dial of pace, as a share of an even pull to either side of it.
_DIAL = 1.0
_SLOWER, _FASTER = "slower ", " faster"


class PursuitStrip(Struct, frozen=True, kw_only=True):
    """Columns of the strip, counted from 0 at the left; left is less load.

    Attributes:
        columns: how many there are, an odd number.
        cell_psi: what a column is worth.
        mark, load: the two to be brought together.
        ahead: the mark in 1, 2, 3 ... s, against an even pull.
        past: the load of the last seconds against the line, the newest first.
        paced: whether there is a cue at all.
        pace: the pace asked for on a dial whose middle is an even pull; None where the lever
            should rest.
    """

    columns: int
    cell_psi: float
    mark: int
    load: int
    ahead: tuple[int, ...]
    past: tuple[int, ...]
    paced: bool
    pace: int | None


def pursuit_strip(
    snapshot: Snapshot | None, columns: int, *, rests: bool = False
) -> PursuitStrip | None:
    """The strip as wide as there is room; None before the ramp and after the hold.

    Args:
        snapshot: of the run.
        columns: the room.
        rests: whether the word says not to pull, whatever pace the pacing asks for.
    """
    if snapshot is None or snapshot.state not in _ON_LINE or snapshot.deviation_psi is None:
        return None
    half = max(columns - 1, 2) // 2
    cell_psi = SCALE_PSI / half

    def column(off_psi: float) -> int:
        return half + max(-half, min(half, round(off_psi / cell_psi)))

    cue = snapshot.cue
    gap_psi, pace = snapshot.deviation_psi, None
    ahead: tuple[int, ...] = ()
    even_psi_s = _EVEN_PSI_S if snapshot.state is RunState.RAMP else 0.0
    if cue is not None and cue.mark_psi is not None and cue.load_psi is not None:
        # What a hand can follow is where mark and load will be once it has answered.
        gap_psi = cue.load_psi - cue.mark_psi
        ahead = tuple(
            column(psi - cue.mark_psi - even_psi_s * in_s)
            for in_s, psi in enumerate(cue.ahead_psi, 1)
        )
        if cue.pace is not None and not rests:
            pace = half + max(-half, min(half, round((cue.pace - 1) / _DIAL * half)))
    line_psi = snapshot.line_psi or 0.0
    return PursuitStrip(
        columns=2 * half + 1,
        cell_psi=cell_psi,
        mark=half,
        load=column(gap_psi),
        ahead=ahead,
        past=tuple(
            column(psi - line_psi + even_psi_s * ago_s)
            for ago_s, psi in enumerate(snapshot.past_psi)
        ),
        paced=cue is not None,
        pace=pace,
    )


def strip_row(strip: PursuitStrip, row: int, marks: Marks) -> str:
    """A row above the bar (-1: the mark in one second) or below it (1: the load a second ago)."""
    columns, mark = (
        (strip.ahead[-row - 1 :], marks.line) if row < 0 else (strip.past[row:], marks.full)
    )
    return ("" if not columns else " " * columns[0] + mark).ljust(strip.columns)


def pace_row(strip: PursuitStrip, marks: Marks) -> str:
    """The dial of pace: slower at the left, an even pull in the middle, faster at the right."""
    if not strip.paced:
        return ""
    if strip.pace is None:
        return "lever rests".center(strip.columns)
    half = strip.columns // 2
    left, right = _SLOWER + marks.track * (half - len(_SLOWER)), marks.track * (half - len(_FASTER))
    dial = left + marks.line + right + _FASTER
    return dial[: strip.pace] + marks.full + dial[strip.pace + 1 :]
