"""Runs a program in a pseudo-terminal, and records its output and its costs."""

import fcntl
import os
import pty
import select
import struct
import subprocess
import termios
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Self

from ramphold.clock import SystemClock

_CLOCK = SystemClock()
# A reader that waits for output looks this often whether its terminal shall vanish.
_LOOK_S = 0.1


class Use:
    """Processor time in s and memory in bytes of a process so far."""

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        fields = Path(f"/proc/{process.pid}/stat").read_text().rpartition(")")[2].split()
        self.cpu_s = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
        self.memory = int(fields[21]) * os.sysconf("SC_PAGE_SIZE")


class Terminal:
    """A pseudo-terminal with a program, read by a thread without delay.

    Args:
        command: the program and its arguments.
        columns, rows: the size of the terminal.
        environ: variables to set in the program's environment.

    Attributes:
        chunks: each piece of output with the time in ns at which it was read.
        process: the program.
    """

    def __init__(
        self, command: Sequence[str], columns: int = 80, rows: int = 24, **environ: str
    ) -> None:
        self.columns, self.rows = columns, rows
        self.chunks: list[tuple[int, bytes]] = []
        self._ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self._reads, self._vanishes = threading.Event(), threading.Event()
        self._reads.set()
        self.process = subprocess.Popen(  # noqa: S603 - the test's own command
            command,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            env={**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor", **environ},
        )
        os.close(theirs)
        self._thread = threading.Thread(target=self._read, name="terminal")
        self._thread.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def press(self, keys: str) -> None:
        """Type."""
        os.write(self._ours, keys.encode())

    def block(self) -> None:
        """Stop reading the output."""
        self._reads.clear()

    def go_on(self) -> None:
        """Read the output again."""
        self._reads.set()

    def vanish(self) -> None:
        """Go without a signal to anybody; then only `close` is left."""
        self._vanishes.set()
        self._thread.join()
        os.close(self._ours)

    def close(self) -> None:
        """Kill the program, and wait for its end."""
        self._reads.set()
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        self._thread.join()
        if not self._vanishes.is_set():
            os.close(self._ours)

    def _read(self) -> None:
        while self._reads.wait() and not self._vanishes.is_set():
            if not select.select([self._ours], [], [], _LOOK_S)[0]:
                continue
            try:
                data = os.read(self._ours, 65536)
            except OSError:  # the program has ended
                return
            if not data:
                return
            self.chunks.append((_CLOCK.now_ns(), data))
