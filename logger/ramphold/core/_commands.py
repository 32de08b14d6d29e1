"""The inputs of a run besides readings, stored with their times so that a run can be refed."""

from msgspec import Struct

from ramphold.core._cues import Style


class EndRun(Struct, frozen=True, kw_only=True):
    """End the record of this run here. The press stays with the operator."""

    reason: str


class Acknowledge(Struct, frozen=True, kw_only=True):
    """A person has seen the latched warnings."""


class ChooseStyle(Struct, frozen=True, kw_only=True):
    """Pace the run in this style from now on."""

    style: Style


class NotRecorded(Struct, frozen=True, kw_only=True):
    """The database has taken nothing of this run since its newest commit."""

    reason: str


class RecordedAgain(Struct, frozen=True, kw_only=True):
    """The database has taken all that had waited."""


class TakeUp(Struct, frozen=True, kw_only=True):
    """A new daemon follows the run from here on; what the load did meanwhile nobody knows."""


class TimePassed(Struct, frozen=True, kw_only=True):
    """No reading had come by this time, when a deadline was checked."""


Command = Acknowledge | ChooseStyle | EndRun | NotRecorded | RecordedAgain | TakeUp | TimePassed
