"""The table of situations at the press: the first row that fits says what is shown and played.

`DEVELOPERS.md` has it in print. A sentence has figures in braces, which `press_banner` puts in.
"""

from ramphold_tui.view.situation import PressSituation, RunStage
from ramphold_tui.view.situation_row import Row
from ramphold_tui.view.situations_in_run import IN_RUN
from ramphold_tui.view.situations_of_trust import OF_TRUST
from ramphold_tui.view.situations_without_run import WITHOUT_RUN

#: In the order in which they are looked at: whether the load is known and bearable, then the run.
SITUATIONS: tuple[Row, ...] = (*OF_TRUST, *WITHOUT_RUN, *IN_RUN)


def row_for(now: PressSituation) -> Row:
    """The first row that fits."""
    return next(row for row in SITUATIONS if row.fits(now))


#: What comes after a live run's state by itself.
ONWARD = {
    RunStage.READY: "the ramp begins by itself at the seating load",
    RunStage.SEATING: "the ramp begins by itself at the seating load",
    RunStage.RAMP: "the hold begins by itself at the target",
    RunStage.HOLD: "after the hold, bring the load down slowly and fully",
}
#: The situations whose word is a warning.
OF_A_WARNING = frozenset(row.name for row in SITUATIONS if row.warned)
#: The situations whose words say that the disk refuses, and what the run came to.
OF_THE_DISK = frozenset(row.name for row in SITUATIONS if "{unwritten}" in row.sentence)
OF_AN_OUTCOME = frozenset(row.name for row in SITUATIONS if row.outcome)
