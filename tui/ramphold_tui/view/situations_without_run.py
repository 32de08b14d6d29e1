"""Situations in which no run is live: load that is left or not recorded, a verdict, nothing."""

from ramphold_tui.view.elements import Sound, Tone
from ramphold_tui.view.situation import (
    LoadLevel,
    Recording,
    RunOutcome,
    RunStage,
)
from ramphold_tui.view.situation_row import Row

_F = frozenset
_ENDED = _F({RunStage.COMPLETE, RunStage.STOPPED, RunStage.INTERRUPTED})
_ON_THE_CELL = _F(
    {LoadLevel.CONTACT, LoadLevel.UNDER_WAY, LoadLevel.OVER_TARGET, LoadLevel.OVER_CEILING}
)
_DECIDE = "decide whether it counts (W, then D), or crush a new specimen; no sieving before that"
_SIEVE = "empty the cell, sieve the specimen, weigh the pan"

WITHOUT_RUN: tuple[Row, ...] = (
    # --- no run is live
    Row(
        name="run failed, load left",
        word="RELEASE FULLY",
        sentence="{load} left on the cell: bring it down slowly to zero",
        next=f"at zero, empty the cell; {_DECIDE}",
        tone=Tone.ACT,
        run=_ENDED,
        load=_F({LoadLevel.RESIDUAL}),
        outcome=_F({RunOutcome.FAILED}),
    ),
    Row(
        name="run over, load left",
        word="RELEASE FULLY",
        sentence="{load} left on the cell: bring it down slowly to zero",
        next="at zero, empty the cell",
        tone=Tone.ACT,
        run=_ENDED | {RunStage.ENDING},
        load=_F({LoadLevel.RESIDUAL}),
    ),
    Row(
        name="load without a run",
        word="NOT RECORDED",
        sentence="{load} on the cell, and no run follows it",
        next="start a run, or release",
        tone=Tone.CAUTION,
        sound=Sound.STOP,
        run=_ENDED | {RunStage.NONE, RunStage.ENDING},
        load=_ON_THE_CELL | {LoadLevel.RESIDUAL},
    ),
    Row(
        name="run over, its end not written",
        word="NOT WRITTEN",
        sentence="the run is over, and {unwritten}",
        next="look at the disk and leave the computer on: it is tried every second",
        tone=Tone.CAUTION,
        run=_F({RunStage.ENDING}),
        recording=_F({Recording.FAILING}),
    ),
    Row(
        name="run over, being written",
        word="ENDING",
        sentence="the run is over and is being written",
        next="leave the computer on",
        tone=Tone.CALM,
        run=_F({RunStage.ENDING}),
    ),
    Row(
        name="run failed",
        word="FAILED",
        sentence="{worst}",
        next=_DECIDE,
        tone=Tone.CAUTION,
        run=_ENDED,
        outcome=_F({RunOutcome.FAILED}),
    ),
    Row(
        name="run failed, decided that it counts",
        word="COUNTS",
        sentence="{decided}; {worst}",
        next=_SIEVE,
        tone=Tone.CALM,
        run=_ENDED,
        outcome=_F({RunOutcome.COUNTS}),
    ),
    Row(
        name="run left out",
        word="NOT COUNTED",
        sentence="{decided}",
        next="empty the cell; the worksheet (W) leads to the next run",
        tone=Tone.CALM,
        run=_ENDED,
        outcome=_F({RunOutcome.LEFT_OUT}),
    ),
    Row(
        name="run passed",
        word="PASSED",
        sentence="the run is recorded; every check is within its limit",
        next=_SIEVE,
        tone=Tone.CALM,
        run=_F({RunStage.COMPLETE}),
        outcome=_F({RunOutcome.PASSED}),
    ),
    Row(
        name="run over, no verdict told",
        word="ENDED",
        sentence="the run is over: {reason}",
        next="empty the cell; the results (R) say what it came to",
        tone=Tone.CALM,
        run=_ENDED,
    ),
    Row(
        name="nothing under way",
        word="NO RUN",
        sentence="no run is followed: the load is shown, not recorded",
        next="the worksheet (W) leads to the next run",
        tone=Tone.CALM,
        run=_F({RunStage.NONE}),
    ),
)
