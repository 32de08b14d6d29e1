"""The inputs of a run besides readings, stored with their times so that a run can be refed."""

from dataclasses import dataclass

from ramphold.core._cues import Style


@dataclass(frozen=True, slots=True, kw_only=True)
class EndRun:
    """End the record of this run here. The press stays with the operator."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledge:
    """A person has seen the latched warnings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChooseStyle:
    """Pace the run in this style from now on."""

    style: Style


@dataclass(frozen=True, slots=True, kw_only=True)
class NotRecorded:
    """The database has taken nothing of this run since its newest commit."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedAgain:
    """The database has taken all that had waited."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeUp:
    """A new daemon follows the run from here on; what the load did meanwhile nobody knows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimePassed:
    """No reading had come by this time, when a deadline was checked."""


Command = Acknowledge | ChooseStyle | EndRun | NotRecorded | RecordedAgain | TakeUp | TimePassed
