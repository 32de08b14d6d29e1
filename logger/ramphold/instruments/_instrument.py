"""What every instrument is: a thread that reads it, and the contract that the thread keeps.

An instrument is built from a name, a clock and two callbacks: one for its readings, one for its
health. `start` returns at once and never raises: a missing port is a state of health, not an
error. From then until `stop`, and from one thread of its own:

- every frame on the wire becomes one reading, in order, stamped with the clock's time at which
  its last byte arrived; an unreadable frame is also a reading, with a quality or a state that says
  so, and never a number;
- health is reported when it changes: `opening` first, then `open`, `silent`, `unreadable`,
  `flooding`, `missing` in any order; `open` is reported before the readings that show it;
- a port that goes away is opened again, with a growing wait, for as long as it takes; bytes from
  before a gap never complete a line after it;
- nothing that an instrument sends can end the thread, and no callback is called after `stop` has
  returned;
- an instrument that sends faster than any real one is read at a limited rate, so that it starves
  the others of neither processor nor memory.

`stop` ends the thread within half a second and releases the port. An instrument is started and
stopped once. Callbacks run in the instrument's thread: they must hand over and return.
"""

import logging
import threading
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, TypeVar

from ramphold.clock import Clock
from ramphold.errors import PortError

R = TypeVar("R")

_FIRST_WAIT_S = 0.2
_LONGEST_WAIT_S = 2.0
# A network port or a kernel driver may take longer to let go.
_STOP_WAIT_S = 1.0

_log = logging.getLogger(__name__)


class HealthState(StrEnum):
    """The state of an instrument."""

    OPENING = "opening"
    OPEN = "open"
    SILENT = "silent"
    UNREADABLE = "unreadable"
    FLOODING = "flooding"
    MISSING = "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class HealthReport:
    """The state of an instrument and when it began.

    Attributes:
        name: the instrument's name.
        state: its state.
        detail: one line for a person: what is wrong and what to do, or `ok`.
        since_ns: monotonic time in ns at which this state began.
    """

    name: str
    state: HealthState
    detail: str
    since_ns: int

    @property
    def ok(self) -> bool:
        """Whether nothing needs to be done."""
        return self.state is HealthState.OPEN


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentSetup(Generic[R]):
    """What every instrument is built from; the callbacks run in its thread.

    Attributes:
        name: its name in the configuration.
        clock: stamps the readings, and tells when the instrument is silent.
        on_reading: called with each reading.
        on_health: called when the health changes.
    """

    name: str
    clock: Clock
    on_reading: Callable[[R], None]
    on_health: Callable[[HealthReport], None]


class Instrument(ABC, Generic[R]):
    """An instrument, apart from what is read and how."""

    def __init__(self, setup: InstrumentSetup[R]) -> None:
        self._name = setup.name
        self._clock = setup.clock
        self._on_reading = setup.on_reading
        self._on_health = setup.on_health
        self._stop = threading.Event()
        self._wait_s = _FIRST_WAIT_S
        self._rounds = 0
        self._health = HealthReport(
            name=setup.name,
            state=HealthState.OPENING,
            detail="opening its port",
            since_ns=setup.clock.now_ns(),
        )
        self._thread = threading.Thread(
            target=self._run, name=f"instrument {setup.name}", daemon=True
        )

    @property
    def name(self) -> str:
        """Its name in the configuration."""
        return self._name

    @property
    def health(self) -> HealthReport:
        """Its health now; may be read from any thread."""
        return self._health

    @property
    def rounds(self) -> int:
        """Number of passes of its thread's loop, each a read or an attempt to open the port.

        It grows several times a second, except while a network port connects. If it stops
        growing, the thread is stuck.
        """
        return self._rounds

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    def stop(self) -> None:
        """Stop reading and release the port."""
        self._stop.set()
        self._interrupt()
        if self._thread.is_alive():
            self._thread.join(_STOP_WAIT_S)
        if self._thread.is_alive():
            # It may spend seconds in connecting, or in the kernel; the thread ends after it.
            _log.warning("%s: its port did not let go in %g s", self._name, _STOP_WAIT_S)

    # --- for subclasses ----------------------------------------------------------------------

    @abstractmethod
    def _session(self) -> None:
        """Open, read until `_stop` is set, and close.

        Raises:
            PortError: that failed; it is tried again.
        """

    def _interrupt(self) -> None:
        """End a wait in `_session`, from another thread."""

    def _goes_on(self) -> bool:
        """Whether to read on; called before each read."""
        self._rounds += 1
        return not self._stop.is_set()

    def _heard(self) -> None:
        """Note that a good reading came."""
        self._wait_s = _FIRST_WAIT_S
        self._report(HealthState.OPEN, "ok")

    def _report(self, state: HealthState, detail: str) -> None:
        was = self._health
        if (state, detail) == (was.state, was.detail):
            return
        since_ns = was.since_ns if state is was.state else self._clock.now_ns()
        self._health = HealthReport(name=self._name, state=state, detail=detail, since_ns=since_ns)
        self._on_health(self._health)

    # --- inside ------------------------------------------------------------------------------

    def _run(self) -> None:
        self._on_health(self._health)
        while self._goes_on():
            try:
                self._session()
            except PortError as error:
                self._report(HealthState.MISSING, str(error))
            except Exception:  # noqa: BLE001  (a bug must not end the readings)
                _log.exception("%s: a bug ended its session", self._name)
                self._report(HealthState.MISSING, "stopped by a bug: see the log")
            self._stop.wait(self._wait_s)
            self._wait_s = min(2 * self._wait_s, _LONGEST_WAIT_S)
