"""The table of situations at the press: the first row that fits says what is shown and played.

`DEVELOPERS.md` has it in print. A sentence has figures in braces, which `press_situation` puts in.
"""

from dataclasses import dataclass

from ramphold.core import Verdict
from ramphold_tui.view.elements import Sound, Tone
from ramphold_tui.view.situation import (
    LIVE,
    PULLS,
    Ask,
    Link,
    LoadKind,
    Recording,
    RunStage,
    Situation,
    Warned,
    WarnedStage,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row: where it fits, and what is said there.

    Attributes:
        name: what the situation is called.
        word, sentence, next: the biggest word, the line under it, what comes after.
        tone: its colour.
        sound: what is played when the row begins.
        link, run, load, recording, warned, stage, verdict, ask: the values that it fits; empty
            where any does.
    """

    name: str
    word: str
    sentence: str
    next: str
    tone: Tone
    sound: Sound | None = None
    link: frozenset[Link] = frozenset()
    run: frozenset[RunStage] = frozenset()
    load: frozenset[LoadKind] = frozenset()
    recording: frozenset[Recording] = frozenset()
    warned: frozenset[Warned] = frozenset()
    stage: frozenset[WarnedStage] = frozenset()
    verdict: frozenset[Verdict | None] = frozenset()
    ask: frozenset[Ask] = frozenset()

    def fits(self, now: Situation) -> bool:
        """Whether the row is about this situation."""
        return (
            (not self.link or now.link in self.link)
            and (not self.run or now.run in self.run)
            and (not self.load or now.load in self.load)
            and (not self.warned or now.warned in self.warned)
            and (not self.ask or now.ask in self.ask)
            and (not self.stage or now.stage in self.stage)
            and (not self.recording or now.recording in self.recording)
            and (not self.verdict or now.verdict in self.verdict)
        )


def row_for(now: Situation) -> Row:
    """The first row that fits."""
    return next(row for row in SITUATIONS if row.fits(now))


#: Where the seconds to go are all there is to read.
WAITING_HOLD = "hold, nothing to do"
_F = frozenset
_STANDING = _F({WarnedStage.STANDING})
_ENDED = _F({RunStage.COMPLETE, RunStage.STOPPED, RunStage.INTERRUPTED})
_PACED = _F({RunStage.SEATING, RunStage.RAMP, RunStage.HOLD})
_ON_THE_CELL = _F(
    {LoadKind.CONTACT, LoadKind.UNDER_WAY, LoadKind.OVER_TARGET, LoadKind.OVER_CEILING}
)
_OVER = _F({LoadKind.OVER_TARGET, LoadKind.OVER_CEILING})
_SEEN = "F4: seen"
_DECIDE = "decide whether it counts (W, then D), or crush a new specimen; no sieving before that"
_SIEVE = "empty the cell, sieve the specimen, weigh the pan"
_GAUGE = "go by the gauge, release if in doubt"

#: In the order in which they are looked at.
SITUATIONS: tuple[Row, ...] = (
    # --- what is known at all
    Row(
        name="link lost",
        word="NO LINK",
        sentence="nothing heard from the daemon{since}, trying again: go by the gauge",
        next="whether a run is recorded is not known here; release if in doubt",
        tone=Tone.CAUTION,
        link=_F({Link.LOST}),
    ),
    Row(
        name="link opening",
        word="LINKING",
        sentence="waiting for the daemon",
        next="",
        tone=Tone.FADED,
        link=_F({Link.OPENING}),
    ),
    # --- warnings whose cause stands
    Row(
        name="load over the rating",
        word="OVER RATING",
        sentence="{warned}",
        next=f"stop pulling, open the valve slowly ({_SEEN})",
        tone=Tone.ALARM,
        sound=Sound.OVERLOAD,
        warned=_F({Warned.OVER_RATING}),
        stage=_STANDING,
    ),
    Row(
        name="load near the rating",
        word="NEAR RATING",
        sentence="{warned}",
        next=f"stop pulling ({_SEEN})",
        tone=Tone.ALARM,
        sound=Sound.OVERLOAD,
        warned=_F({Warned.NEAR_RATING}),
        stage=_STANDING,
    ),
    Row(
        name="load over the ceiling",
        word="OVER CEILING",
        sentence="{warned}",
        next=f"stop pulling ({_SEEN})",
        tone=Tone.ALARM,
        sound=Sound.OVERLOAD,
        run=LIVE,
        warned=_F({Warned.OVER_CEILING}),
        stage=_STANDING,
    ),
    Row(
        name="load does not answer",
        word="NO ANSWER",
        sentence=f"the load does not answer: {_GAUGE}",
        next=f"look at gauge, cable and valve ({_SEEN})",
        tone=Tone.ALARM,
        sound=Sound.STOP,
        run=LIVE,
        warned=_F({Warned.NO_ANSWER}),
        stage=_STANDING,
    ),
    Row(
        name="load jumped",
        word="LOAD JUMPED",
        sentence=f"no press moves a load so fast: {_GAUGE}",
        next=f"look at gauge and cable ({_SEEN})",
        tone=Tone.ALARM,
        sound=Sound.STOP,
        run=LIVE,
        warned=_F({Warned.JUMPED}),
        stage=_STANDING,
    ),
    # --- the load is not known
    Row(
        name="sensor at its limit",
        word="SATURATED",
        sentence="the sensor is at its limit and the load may be more: go by the gauge",
        next="stop pulling, release if in doubt",
        tone=Tone.CAUTION,
        sound=Sound.STOP,
        load=_F({LoadKind.SATURATED}),
    ),
    Row(
        name="no readings",
        word="NO READING",
        sentence="no reading of the load {since}: go by the gauge, look at the cable",
        next="stop pulling until the load is read again; release if in doubt",
        tone=Tone.CAUTION,
        sound=Sound.STOP,
        run=LIVE,
        load=_F({LoadKind.UNKNOWN}),
    ),
    Row(
        name="no readings, no run",
        word="NO READING",
        sentence="no reading of the load {since}: go by the gauge, look at the cable",
        next="do not pump before the load is read again",
        tone=Tone.CAUTION,
        load=_F({LoadKind.UNKNOWN}),
    ),
    Row(
        name="load still does not answer, seen",
        word="NO CUE",
        sentence=f"the load does not answer: {_GAUGE}",
        next="cues return once the load answers",
        tone=Tone.CAUTION,
        run=LIVE,
        warned=_F({Warned.NO_ANSWER}),
        stage=_F({WarnedStage.ACKNOWLEDGED}),
    ),
    Row(
        name="load over the rating, seen",
        word="OVER RATING",
        sentence="{load}, {over_rating}",
        next="stop pulling, open the valve slowly",
        tone=Tone.CAUTION,
        load=_F({LoadKind.OVER_RATING}),
    ),
    # --- no run is live
    Row(
        name="run failed, load left",
        word="RELEASE FULLY",
        sentence="{load} left on the cell: bring it down slowly to zero",
        next=f"at zero: empty the cell; {_DECIDE}",
        tone=Tone.ACT,
        run=_ENDED,
        load=_F({LoadKind.RESIDUAL}),
        verdict=_F({Verdict.FAIL}),
    ),
    Row(
        name="run over, load left",
        word="RELEASE FULLY",
        sentence="{load} left on the cell: bring it down slowly to zero",
        next="at zero: empty the cell",
        tone=Tone.ACT,
        run=_ENDED | {RunStage.ENDING},
        load=_F({LoadKind.RESIDUAL}),
    ),
    Row(
        name="load without a run",
        word="NOT RECORDED",
        sentence="{load} on the cell, and no run follows it",
        next="start a run, or release",
        tone=Tone.CAUTION,
        sound=Sound.STOP,
        run=_ENDED | {RunStage.NONE, RunStage.ENDING},
        load=_ON_THE_CELL | {LoadKind.RESIDUAL},
    ),
    Row(
        name="run over, its end not written",
        word="NOT WRITTEN",
        sentence="the run is over and its end can't be written: {unwritten}",
        next="make room on the disk, leave the computer on; it is tried every second",
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
        verdict=_F({Verdict.FAIL}),
    ),
    Row(
        name="run passed",
        word="PASSED",
        sentence="the run is recorded and kept to every limit",
        next=_SIEVE,
        tone=Tone.CALM,
        run=_F({RunStage.COMPLETE}),
        verdict=_F({Verdict.PASS}),
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
    # --- a run is live and its load is known
    Row(
        name="hold up",
        word="RELEASE",
        sentence="the hold is up: bring the load down slowly, fully",
        next="at zero: empty the cell",
        tone=Tone.ACT,
        sound=Sound.HOLD_UP,
        run=_F({RunStage.RELEASE}),
    ),
    Row(
        name="ready",
        word="READY",
        sentence="bring the piston to first contact",
        next="{onward}",
        tone=Tone.CALM,
        run=_F({RunStage.READY}),
    ),
    Row(
        name="asked to pull, load over the target",
        word="WAIT",
        sentence="the load is over the target: do not pull",
        next="{onward}",
        tone=Tone.CAUTION,
        sound=Sound.STOP,
        run=_PACED,
        load=_OVER,
        ask=PULLS | {Ask.SLOWER},
    ),
    Row(
        name="hands off",
        word="HANDS OFF",
        sentence="{hold}stop pulling: rests {after}",
        next="{onward}",
        tone=Tone.ACT,
        sound=Sound.STOP,
        run=_PACED,
        ask=_F({Ask.HANDS_OFF}),
    ),
    Row(
        name="stop",
        word="STOP",
        sentence="{hold}stop pulling: rests {after}",
        next="{onward}",
        tone=Tone.ACT,
        sound=Sound.STOP,
        run=_PACED,
        ask=_F({Ask.STOP}),
    ),
    Row(
        name="top up",
        word="TOP UP",
        sentence="{hold}a short, slow pull before the load leaves the band",
        next="{onward}",
        tone=Tone.ACT,
        sound=Sound.TOP_UP,
        run=_F({RunStage.HOLD}),
        ask=_F({Ask.TOP_UP}),
    ),
    Row(
        name=WAITING_HOLD,
        word="{to_go}",
        sentence="hold: nothing to do, the load is at {psi}",
        next="{onward}",
        tone=Tone.CALM,
        run=_F({RunStage.HOLD}),
        ask=_F({Ask.WAIT, Ask.LET_CATCH_UP, Ask.STROKE_SOON}),
    ),
    Row(
        name="far ahead of the line",
        word="WAIT",
        sentence="{deviation}: do not pull, let the line catch up",
        next="{onward}",
        tone=Tone.ACT,
        sound=Sound.STOP,
        run=_F({RunStage.RAMP}),
        ask=_F({Ask.LET_CATCH_UP}),
    ),
    Row(
        name="wait for a stroke",
        word="WAIT",
        sentence="{stroke} stroke in {due}, {after}",
        next="{onward}",
        tone=Tone.CALM,
        run=_PACED,
        ask=_F({Ask.STROKE_SOON}),
    ),
    Row(
        name="wait",
        word="WAIT",
        sentence="nothing to do",
        next="{onward}",
        tone=Tone.CALM,
        run=_PACED,
        ask=_F({Ask.WAIT}),
    ),
    Row(
        name="stroke",
        word="{STROKE} STROKE",
        sentence="{after}",
        next="{onward}",
        tone=Tone.ACT,
        run=_PACED,
        ask=_F({Ask.STROKE}),
    ),
    Row(
        name="pull slower",
        word="SLOWER",
        sentence="{hold}pull slower, do not stop",
        next="{onward}",
        tone=Tone.ACT,
        sound=Sound.SLOWER,
        run=_PACED,
        ask=_F({Ask.SLOWER}),
    ),
    Row(
        name="pull faster",
        word="FASTER",
        sentence="{hold}pull faster, evenly",
        next="{onward}",
        tone=Tone.ACT,
        sound=Sound.FASTER,
        run=_PACED,
        ask=_F({Ask.FASTER}),
    ),
    Row(
        name="pull that gains nothing",
        word="PULL ON",
        sentence="{hold}the load is behind and gains nothing: pull on",
        next="{onward}",
        tone=Tone.ACT,
        sound=Sound.FASTER,
        run=_PACED,
        ask=_F({Ask.PULL_ON}),
    ),
    Row(
        name="lever at its end",
        word="RETURN LEVER",
        sentence="{hold}lever back up, then pull on",
        next="{onward}",
        tone=Tone.ACT,
        run=_PACED,
        ask=_F({Ask.RETURN_LEVER}),
    ),
    Row(
        name="pull",
        word="SQUEEZE",
        sentence="{hold}a slow, even pull: {pace}",
        next="{onward}",
        tone=Tone.ACT,
        run=_PACED,
        ask=_F({Ask.SQUEEZE}),
    ),
    Row(
        name="ramp without a cue",
        word="RAMP",
        sentence="keep the load on the line",
        next="{onward}",
        tone=Tone.ACT,
        run=_F({RunStage.RAMP}),
    ),
    Row(
        name="seating",
        word="SEATING",
        sentence="let the piston settle, then on to the seating load",
        next="{onward}",
        tone=Tone.CALM,
        run=_F({RunStage.SEATING}),
    ),
    Row(
        name="hold without a cue",
        word="HOLD",
        sentence="{to_go} to go: keep the load in the band",
        next="{onward}",
        tone=Tone.ACT,
        run=_F({RunStage.HOLD}),
    ),
)

#: What comes after a live run's state by itself.
ONWARD = {
    RunStage.READY: "the ramp begins by itself at the seating load",
    RunStage.SEATING: "the ramp begins by itself at the seating load",
    RunStage.RAMP: "the hold begins by itself at the target",
    RunStage.HOLD: "when the hold is up, bring the load down slowly and fully",
}
#: The situations whose word is a warning.
OF_A_WARNING = frozenset(row.name for row in SITUATIONS if row.warned)
