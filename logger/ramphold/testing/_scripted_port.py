"""Ports that follow a script: of queries and answers, or of single reads."""

import threading
from collections import deque
from collections.abc import Callable, Iterable

from ramphold.errors import PortError

_WAIT_S = 0.1


class ScriptedPort:
    """Answers by its script, byte for byte; `finish` fails on anything left over.

    Args:
        script: pairs of a query and its answer; with an empty query the answer comes unasked, once
            everything before it has been read.
        chunk: most bytes of one read.
        vanishes: whether the port goes away at the end of the script.
    """

    def __init__(
        self, script: Iterable[tuple[bytes, bytes]], *, chunk: int = 4096, vanishes: bool = False
    ) -> None:
        self._script = deque(script)
        self._chunk = chunk
        self._vanishes = vanishes
        self._sent = b""
        self._waiting = b""
        self._faults: list[str] = []
        self._woken = threading.Event()
        self._over = threading.Event()
        self.closed = False

    def read(self) -> bytes:
        """The next bytes of the answer."""
        if not self._waiting and self._script and not self._script[0][0]:
            self._waiting = self._script.popleft()[1]
        if not self._waiting:
            return self._nothing()
        data, self._waiting = self._waiting[: self._chunk], self._waiting[self._chunk :]
        return data

    def write(self, data: bytes) -> None:
        """Accept a query; the script must expect it."""
        if self._over.is_set() and self._vanishes:
            raise PortError("the script is over: the port went away")
        self._sent += data
        expected = self._script[0][0] if self._script else b""
        if self._sent == expected and expected:
            self._waiting += self._script.popleft()[1]
            self._sent = b""
        elif not expected.startswith(self._sent):
            self._faults.append(f"sent {self._sent!r}, the script expects {expected!r}")
            self._sent = b""

    def cancel(self) -> None:
        """End a waiting read."""
        self._woken.set()

    def close(self) -> None:
        """Close."""
        self.closed = True

    def wait(self, timeout_s: float = 2.0) -> bool:
        """Wait until the script is over and all its answers have been read."""
        return self._over.wait(timeout_s)

    def finish(self) -> None:
        """Check that everything went by the script.

        Raises:
            AssertionError: something else was sent, or something was not sent or not read.
        """
        faults = list(self._faults)
        if self._sent:
            faults.append(f"sent {self._sent!r}, which completes nothing")
        if self._waiting:
            faults.append(f"not read: {self._waiting!r}")
        faults += [f"never came to {pair!r}" for pair in self._script]
        assert not faults, "; ".join(faults)  # noqa: S101  (it speaks to a test)

    def _nothing(self) -> bytes:
        if not self._script:
            self._over.set()
            if self._vanishes:
                raise PortError("the script is over: the port went away")
        self._woken.wait(_WAIT_S)
        self._woken.clear()
        return b""


class StepPort:
    """Each read runs the next step: a function that returns bytes and may move a clock."""

    def __init__(self, steps: Iterable[Callable[[], bytes]]) -> None:
        self._steps = deque(steps)
        self._woken = threading.Event()
        self.over = threading.Event()

    def read(self) -> bytes:
        """Run the next step; no bytes after the last one."""
        if self._steps:
            return self._steps.popleft()()
        self.over.set()
        self._woken.wait(_WAIT_S)
        return b""

    def write(self, data: bytes) -> None:
        """Accept anything."""

    def cancel(self) -> None:
        """End a waiting read, and all later ones."""
        self._woken.set()

    def close(self) -> None:
        """Close."""
