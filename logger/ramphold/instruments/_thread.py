"""The thread of an instrument: opens what it reads, again and again, and says how it is."""

import logging
import threading
from abc import ABC, abstractmethod
from collections.abc import Callable

from ramphold.clock import Clock
from ramphold.errors import PortError
from ramphold.instruments._instrument import Health, HealthState

__all__ = ["InstrumentThread"]

_FIRST_WAIT_S = 0.2
_LONGEST_WAIT_S = 2.0
# A network port or a kernel driver may take longer to let go.
_STOP_WAIT_S = 1.0

_log = logging.getLogger(__name__)


class InstrumentThread(ABC):
    """All of `Instrument` but what is read, and how.

    Args:
        name: what the configuration calls it.
        clock: tells since when it is as it is.
        on_health: takes the health, when it changes.
    """

    def __init__(self, name: str, clock: Clock, on_health: Callable[[Health], None]) -> None:
        self._name = name
        self._clock = clock
        self._on_health = on_health
        self._stop = threading.Event()
        self._wait_s = _FIRST_WAIT_S
        self._rounds = 0
        self._health = Health(
            name=name,
            state=HealthState.OPENING,
            detail="opening its port",
            since_ns=clock.now_ns(),
        )
        self._thread = threading.Thread(target=self._run, name=f"instrument {name}", daemon=True)

    @property
    def name(self) -> str:
        """What the configuration calls it."""
        return self._name

    @property
    def health(self) -> Health:
        """How it is now."""
        return self._health

    @property
    def rounds(self) -> int:
        """How often its thread has come round."""
        return self._rounds

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    def stop(self) -> None:
        """End reading and give the port back."""
        self._stop.set()
        self._let_go()
        if self._thread.is_alive():
            self._thread.join(_STOP_WAIT_S)
        if self._thread.is_alive():
            # It may spend seconds in connecting, or in the kernel; the thread ends after it.
            _log.warning("%s: its port did not let go in %g s", self._name, _STOP_WAIT_S)

    # --- for who reads -----------------------------------------------------------------------

    @abstractmethod
    def _session(self) -> None:
        """Open, read until `_stop` is set, and close; PortError where that can't be done."""

    def _let_go(self) -> None:  # noqa: B027  (not all can)
        """End a wait in `_session`, from another thread."""

    def _goes_on(self) -> bool:
        """Whether to read on; to be asked at each reading."""
        self._rounds += 1
        return not self._stop.is_set()

    def _heard(self) -> None:
        """It has said something."""
        self._wait_s = _FIRST_WAIT_S
        self._report(HealthState.OPEN, "ok")

    def _report(self, state: HealthState, detail: str) -> None:
        was = self._health
        if (state, detail) == (was.state, was.detail):
            return
        since_ns = was.since_ns if state is was.state else self._clock.now_ns()
        self._health = Health(name=self._name, state=state, detail=detail, since_ns=since_ns)
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
