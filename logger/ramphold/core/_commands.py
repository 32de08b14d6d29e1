"""What a run takes besides readings; kept with its time, so that a run can be fed again."""

from dataclasses import dataclass

from ramphold.core._cues import Style

__all__ = ["Acknowledge", "ChooseStyle", "Command", "EndRun", "TimePassed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndRun:
    """End the record of this run here. Says nothing to the press: that is the operator's."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledge:
    """The latched warnings were seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChooseStyle:
    """Pace this way from now on."""

    style: Style


@dataclass(frozen=True, slots=True, kw_only=True)
class TimePassed:
    """No reading had come by this time, and somebody looked."""


Command = Acknowledge | ChooseStyle | EndRun | TimePassed
