"""The contract of an instrument.

An instrument is made with a name, a clock, and two callbacks: one takes its readings, the other
its health. `start` returns at once and never raises: a port that is missing is a state of health,
not an error. From then on, until `stop`, and from one thread of its own:

- every frame that the wire gives becomes one reading, in order, stamped with the clock's time at
  which its last byte arrived; a frame that can't be read is a reading too, with a quality or a
  state that says so, and never a number;
- health is reported when it changes: `opening` first, then `open`, `silent`, `unreadable`,
  `flooding`, `missing` in any order; a report of `open` comes before the readings that show it;
- a port that goes away is opened again, with a growing wait, for as long as it takes; bytes from
  before a gap never complete a line after it;
- nothing that an instrument sends can end the thread, and no callback is called after `stop`
  has returned;
- one that sends faster than any instrument does is read no faster than a known rate, so that it
  takes neither the processor nor the memory from the others.

`stop` ends the thread within half a second and gives the port back. An instrument is started and
stopped once. Callbacks run in the instrument's thread: they must hand over and return.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

__all__ = ["Health", "HealthState", "Instrument"]


class HealthState(StrEnum):
    """How an instrument is."""

    OPENING = "opening"
    OPEN = "open"
    SILENT = "silent"
    UNREADABLE = "unreadable"
    FLOODING = "flooding"
    MISSING = "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Health:
    """How an instrument is, and since when.

    Attributes:
        name: the instrument's.
        state: how it is.
        detail: one line for a person: what is wrong and what to do, or `ok`.
        since_ns: monotonic time in ns at which it came into this state.
    """

    name: str
    state: HealthState
    detail: str
    since_ns: int

    @property
    def ok(self) -> bool:
        """Whether there is nothing to do about it."""
        return self.state is HealthState.OPEN


class Instrument(Protocol):
    """What the daemon knows of an instrument."""

    @property
    def name(self) -> str:
        """What the configuration calls it."""

    @property
    def health(self) -> Health:
        """How it is now; may be asked from any thread."""

    @property
    def rounds(self) -> int:
        """How often its thread has come round, by reading or by trying its port.

        It comes round several times a second, but for a network port that takes its time to
        connect. One that does not any more is stuck.
        """

    def start(self) -> None:
        """Begin to read."""

    def stop(self) -> None:
        """End reading and give the port back."""
