import asyncio
import sys
import tempfile
import threading
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import msgspec
import pytest

from ramphold.cli import main
from ramphold.control.handlers import Handlers
from ramphold.control.server import Server
from ramphold.core import MassReading, MassState
from ramphold.daemon._balance_now import BalanceNow
from ramphold.daemon._signing import SigningService
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BalanceConfig
from ramphold.daemon.records import RecordService
from ramphold.testing import ManualClock
from support.configs import bench_config
from support.crushes import crush


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a person sees of one command: its exit status and what it printed."""

    status: int
    out: str
    err: str

    @property
    def json(self):
        """The object that `--json` printed."""
        return msgspec.json.decode(self.out)

    def assert_refused(self, *told):
        """Exit status 2 and nothing but one line on stderr, which holds each of the texts."""
        assert (self.status, self.out) == (2, "")
        assert self.err.startswith("ramphold: ")
        assert self.err.count("\n") == 1
        assert self.err.endswith("\n")
        assert "Traceback" not in self.err
        for text in told:
            assert text in self.err


@pytest.fixture
def ramphold(monkeypatch, capsys):
    """A function that runs the command line `ramphold` in this process."""

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["ramphold", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            main()
        printed = capsys.readouterr()
        return Outcome(status=end.value.code, out=printed.out, err=printed.err)

    return run


@pytest.fixture
def csv_file(tmp_path):
    """A function that writes text or bytes to a file and gives its name."""

    def write(content, name="input.csv"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return str(path)

    return write


class Running:
    """A daemon without ports, in a thread of its own: its socket, database and balance."""

    CONFIG = bench_config(balance=BalanceConfig(port="none", profile="reply-state"))

    def __init__(self, folder):
        self.socket, self.db = folder / "control.sock", folder / "bench.sqlite3"
        self._up, self._loop = threading.Event(), None
        self._thread = threading.Thread(target=lambda: asyncio.run(self._serve()))
        self._thread.start()
        assert self._up.wait(10)

    def show(self, mass_g):
        """Have the balance show a stable mass."""
        line = f"S S {mass_g:10.3f} g".encode()
        self._balance.take(MassReading(t_ns=0, mass_g=mass_g, state=MassState.STABLE, line=line))

    def store(self, work):
        """Do something with the database, in the daemon's own thread for it."""
        return asyncio.run_coroutine_threadsafe(self._store.run(work), self._loop).result(10)

    def sign(self):
        """Sign what was recorded, as the real daemon does within a second."""
        asyncio.run_coroutine_threadsafe(self._signing.sign(), self._loop).result(10)

    def hold_signing(self):
        """Sign nothing more by itself, as a daemon that is killed within that second."""
        self._loop.call_soon_threadsafe(self._signer.cancel)

    def stop(self):
        self._loop.call_soon_threadsafe(self._stop.set)
        self._thread.join()

    def _wake(self, _):
        self._signing.wake()

    async def _serve(self):
        self._loop, self._stop = asyncio.get_running_loop(), asyncio.Event()
        self._store, clock = await StoreThread.open(self.db, self._wake), ManualClock()
        self._signing = SigningService(self._store, self.db, clock)
        await self._signing.start()
        self._balance = BalanceNow(self.CONFIG.balance, clock)
        handlers = Handlers()
        RecordService(self.CONFIG, self._balance, self._store, clock).answer(handlers)
        self._signer = asyncio.create_task(self._signing.run())
        async with Server(self.socket, handlers):
            self._up.set()
            await self._stop.wait()
        self._signer.cancel()
        await self._store.aclose()


@pytest.fixture
def daemon():
    """A daemon that keeps samples."""
    # A socket's name may have 107 bytes, and pytest's own folders can be longer.
    with tempfile.TemporaryDirectory() as folder:
        running = Running(Path(folder))
        try:
            yield running
        finally:
            running.stop()


@pytest.fixture
def told(ramphold, daemon):
    """A function that runs a command against the daemon and gives what it printed."""

    def run(*arguments, status=0):
        outcome = ramphold(*arguments, "--socket", daemon.socket)
        assert outcome.status == status, outcome.err
        return outcome.out

    return run


@pytest.fixture
def finished(daemon, told):
    """A sample with a sieving, a density and two specimens at 4000 psi; its laboratory number."""
    told("sample", "add", "26-0417", "--client", "pit 3", "--size", "20/40", "--by", "KL")

    def weigh(mass_g, *place):
        daemon.show(mass_g)
        told("weigh", *place, "--by", "KL")

    for load, mass_g in (("tare", 800.0), ("gross", 899.8)):
        weigh(mass_g, "--test", "cylinder", "--item", "C1", "--load", load)
    told("bench", "cylinder", "C1", "--water-at", "20", "--by", "KL")
    told("sample", "cylinder", "26-0417", "C1", "--by", "KL")
    for load, mass_g in (("tare", 800.0), ("gross", 960.136)):
        weigh(mass_g, "26-0417", "--test", "bulk density", "--item", "fill", "--load", load)
    # Published: genevainternational.net, frac-sand page, ISO 13503-2:2006 section 6, 20/40.
    sieving = {"16": 0, "20": 0, "25": 7.1, "30": 17.9, "35": 29.4, "40": 41.0, "45": 4.4,
               "50": 0, "pan": 0, "charge": 99.8}  # fmt: skip
    for item, mass_g in sieving.items():
        told("weigh", "26-0417", "--test", "sieve analysis", "--item", item, "--by", "KL",
             "--mass", mass_g)  # fmt: skip
    for number, fines_g in ((1, 2.0), (2, 2.1)):
        told("sample", "specimen", "26-0417", "4000psi", "--label", f"s{number}", "--by", "KL")
        weigh(39.5, "--specimen", number, "--item", "charge")
        daemon.store(partial(crush, specimen=number))
        weigh(fines_g, "--specimen", number, "--item", "pan")
    daemon.sign()
    return "26-0417"
