"""What happens to a run. Each event is a fact with its time, and is kept with the run."""

from dataclasses import dataclass

from ramphold.core._cues import CueKind, Style
from ramphold.core._states import RunState
from ramphold.core._warnings import WarningEvent

__all__ = ["CueGiven", "Event", "ReadingsLost", "ReadingsResumed", "StateChanged", "StyleChosen"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StateChanged:
    """The run went from one state to another, for a reason said in one phrase.

    `t_ns` is when that was known, `since_ns` when the new state began.
    """

    t_ns: int
    since_ns: int
    before: RunState
    after: RunState
    reason: str
    stress_psi: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsLost:
    """No usable reading since `since_ns`: the load is unknown."""

    t_ns: int
    since_ns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsResumed:
    """A usable reading after a gap of `gap_s` seconds."""

    t_ns: int
    gap_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CueGiven:
    """The operator was told something new: what to do, and how far in full strokes."""

    t_ns: int
    kind: CueKind
    size: float | None
    after_psi: float | None
    deviation_psi: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StyleChosen:
    """From here on the run is paced this way."""

    t_ns: int
    style: Style


Event = StateChanged | ReadingsLost | ReadingsResumed | CueGiven | StyleChosen | WarningEvent
