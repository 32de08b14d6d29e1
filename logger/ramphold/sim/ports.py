"""The simulated instruments on pseudo-terminals, and a clock that moves when told.

The code that reads real ports reads these too. Nothing here is timed: the instruments send when
they are told to.
"""

import asyncio
import os
import tty
from contextlib import suppress
from pathlib import Path
from typing import Literal, Self

from ramphold.clock import ClockState
from ramphold.errors import PortError
from ramphold.sim._talkers import BalanceTalker, LineFault, LoadTalker

Plug = Literal["load", "balance"]


class BenchClock:
    """The time on the bench: it moves only when told, and not backwards.

    Args:
        epoch_utc_ns: UTC in ns since 1970 at the bench's time zero.
    """

    def __init__(self, epoch_utc_ns: int) -> None:
        self._epoch_utc_ns = epoch_utc_ns
        self._now_ns = 0

    def now_ns(self) -> int:
        """Time in ns since the bench's time zero."""
        return self._now_ns

    def utc_ns(self) -> int:
        """UTC in ns since 1970."""
        return self._epoch_utc_ns + self._now_ns

    def state(self) -> ClockState:
        """Nothing: no clock of a simulation is real."""
        return ClockState()

    def advance_to(self, now_ns: int) -> None:
        """Move to a time in ns; an earlier one changes nothing."""
        self._now_ns = max(self._now_ns, now_ns)


class SimulatedPorts:
    """A load indicator and a balance, each on a pseudo-terminal with a link in a folder.

    Unplugging removes the link and the terminal. Plugging in makes a new terminal with the same
    link, as an adapter with a udev rule would. Use it as a context, or call `close`.

    Args:
        folder: for the links `load` and `balance`.
        load: the load indicator.
        balance: the balance.
    """

    def __init__(
        self, folder: Path, *, load: LoadTalker | None = None, balance: BalanceTalker | None = None
    ) -> None:
        self.load = load or LoadTalker()
        self.balance = balance or BalanceTalker()
        self._folder = folder
        self._terminals: dict[Plug, tuple[int, int]] = {}
        self._loop: asyncio.AbstractEventLoop | None = None
        self.replug("load")
        self.replug("balance")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def load_path(self) -> Path:
        """The port of the load indicator."""
        return self._folder / "load"

    @property
    def balance_path(self) -> Path:
        """The port of the balance."""
        return self._folder / "balance"

    def send_load(self, force_lbf: float, fault: LineFault | None = None) -> None:
        """Let the load indicator send one line for a force in lbf.

        Raises:
            PortError: it is unplugged, or nobody reads it.
        """
        self._send("load", self.load.line(force_lbf, fault))

    def send_bytes(self, plug: Plug, data: bytes) -> None:
        """Let an instrument send any bytes.

        Raises:
            PortError: it is unplugged, or nobody reads it.
        """
        self._send(plug, data)

    def press_print_key(self) -> None:
        """Press the balance's print key.

        Raises:
            PortError: it is unplugged, or nobody reads it.
        """
        self._send("balance", self.balance.print_key())

    def serve(self) -> None:
        """Answer the queries that the balance has received; returns at once."""
        if "balance" not in self._terminals:
            return
        with suppress(BlockingIOError):
            answer = self.balance.feed(os.read(self._terminals["balance"][0], 4096))
            self._send("balance", answer)

    def serve_on(self, loop: asyncio.AbstractEventLoop) -> None:
        """Let the loop call `serve` for each query, until `close`."""
        self._loop = loop
        self._watch("balance")

    def unplug(self, plug: Plug) -> None:
        """Unplug an instrument; a program that has its port open loses it."""
        terminal = self._terminals.pop(plug, None)
        if terminal is None:
            return
        if self._loop is not None and plug == "balance":
            self._loop.remove_reader(terminal[0])
        self._path(plug).unlink(missing_ok=True)
        for descriptor in terminal:
            os.close(descriptor)

    def replug(self, plug: Plug) -> None:
        """Plug an instrument in."""
        if plug in self._terminals:
            return
        ours, theirs = os.openpty()
        tty.setraw(theirs)
        os.set_blocking(ours, False)
        self._terminals[plug] = ours, theirs
        self._path(plug).unlink(missing_ok=True)
        self._path(plug).symlink_to(os.ttyname(theirs))
        self._watch(plug)

    def close(self) -> None:
        """Unplug both."""
        self.unplug("load")
        self.unplug("balance")

    def _path(self, plug: Plug) -> Path:
        return self._folder / plug

    def _watch(self, plug: Plug) -> None:
        if self._loop is not None and plug == "balance" and plug in self._terminals:
            self._loop.add_reader(self._terminals[plug][0], self.serve)

    def _send(self, plug: Plug, data: bytes) -> None:
        if plug not in self._terminals:
            raise PortError(f"{self._path(plug)} is unplugged: plug it in before it sends")
        try:
            sent = os.write(self._terminals[plug][0], data)
        except BlockingIOError:
            sent = 0
        if sent < len(data):
            raise PortError(f"{self._path(plug)} is full: nobody reads it")
