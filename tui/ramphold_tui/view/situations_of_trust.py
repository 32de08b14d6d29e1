"""Situations of link, warnings and readings: they come before anything of a run."""

from ramphold_tui.view.elements import Sound, Tone
from ramphold_tui.view.situation import (
    LIVE,
    Link,
    LoadLevel,
    Recording,
    Warned,
    WarnedStage,
)
from ramphold_tui.view.situation_row import Row

_F = frozenset
_STANDING = _F({WarnedStage.STANDING})
_SEEN = "F4: seen"
_GAUGE = "go by the gauge, release if in doubt"

OF_TRUST: tuple[Row, ...] = (
    # --- what is known at all
    Row(
        name="link lost",
        word="NO LINK",
        sentence="nothing heard from the daemon{since}, trying again: go by the gauge",
        next="this screen can't tell if a run is recorded; release if in doubt",
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
        load=_F({LoadLevel.SATURATED}),
    ),
    Row(
        name="no readings",
        word="NO READING",
        sentence="no reading of the load {since}: go by the gauge, look at the cable",
        next="stop pulling until the load is read again; release if in doubt",
        tone=Tone.CAUTION,
        sound=Sound.STOP,
        run=LIVE,
        load=_F({LoadLevel.UNKNOWN}),
    ),
    Row(
        name="no readings, no run",
        word="NO READING",
        sentence="no reading of the load {since}: go by the gauge, look at the cable",
        next="do not pump before the load is read again",
        tone=Tone.CAUTION,
        load=_F({LoadLevel.UNKNOWN}),
    ),
    Row(
        name="load still does not answer, seen",
        word="NO ANSWER",
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
        load=_F({LoadLevel.OVER_RATING}),
    ),
    Row(
        name="run not being written",
        word="NOT RECORDED",
        sentence="{unwritten}",
        next=f"leave the computer on: it is tried every second ({_SEEN}, and cue again)",
        tone=Tone.ALARM,
        sound=Sound.STOP,
        run=LIVE,
        recording=_F({Recording.FAILING}),
        warned=_F({Warned.NOT_RECORDED}),
        stage=_STANDING,
    ),
)
