"""A laboratory of real processes: broker, collectors and the daemons of benches."""

import asyncio
import contextlib
import itertools
import signal
import sqlite3
import subprocess
import sys
import time

from ramphold.collector.archive import open_archive
from ramphold.control import act, server_methods
from ramphold.control.client import Client
from ramphold.control.publish_methods import PUBLISH_AGAIN, PUBLISHING
from ramphold.control.sample_methods import ADD_SAMPLE, AddSampleParams
from ramphold.errors import LinkError, StoreError
from support.benches import FilledBench
from support.broker import Broker, resident
from support.comparing import compare
from support.proxy import Proxy

__all__ = ["BenchProgram", "Laboratory", "Program", "until"]

BENCH = """
bench = "{name}"
press.rating = "50000lbf"
load = {{ kind = "indicator", port = "{folder}/load", capacity = "50000lbf" }}
balance = {{ port = "{folder}/balance", profile = "reply-state" }}
calibration.folder = "{folder}"
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/control.sock"

[publish]
host = "localhost"
port = {port}
"""
COLLECTOR = """
name = "{name}"
archive = "{archive}"
shared = "{shared}"

[broker]
host = "localhost"
port = {port}
"""


def until(true, timeout_s=60.0, every_s=0.02):
    """Wait until a condition holds."""
    began_s = time.perf_counter()
    while not true():
        if time.perf_counter() - began_s > timeout_s:
            raise AssertionError(f"not within {timeout_s} s")
        time.sleep(every_s)


class Program:
    """One of our commands as a process with its own folder."""

    def __init__(self, folder, *arguments):
        folder.mkdir(exist_ok=True)
        self.folder = folder
        self.arguments = arguments
        self._process = None

    def start(self):
        with (self.folder / "log").open("ab") as log:
            self._process = subprocess.Popen(
                [sys.executable, *self.arguments], stdout=log, stderr=log, cwd=self.folder
            )
        return self

    @property
    def pid(self):
        return self._process.pid

    def running(self):
        return self._process is not None and self._process.poll() is None

    def stop(self):
        """Stop it as the service manager does; its exit status."""
        return self._end(signal.SIGTERM)

    def kill(self):
        return self._end(signal.SIGKILL)

    def signal(self, number):
        self._process.send_signal(number)

    def memory(self):
        """Bytes of memory that it holds."""
        return resident(self.pid)

    def log(self):
        return (self.folder / "log").read_text()

    def _end(self, number):
        if self._process is None:
            return None
        self._process.send_signal(signal.SIGCONT)
        self._process.send_signal(number)
        try:
            return self._process.wait(20)
        finally:
            if self._process.poll() is None:
                self._process.kill()
                self._process.wait()
            self._process = None


class BenchProgram(Program):
    """The daemon of a bench without instruments, with a filled database.

    Attributes:
        line: the network between it and the broker.
    """

    def __init__(self, folder, name, broker_port, account):
        super().__init__(folder, "-m", "ramphold.cli", "daemon", "--config", "bench.toml")
        self.name = name
        self.line = Proxy(broker_port)
        self._numbers = itertools.count(1)
        self.database = folder / "runs.sqlite3"
        self._config = BENCH.format(name=name, folder=folder.absolute(), port=self.line.port)
        self.set_up(account)

    def set_up(self, account, more=""):
        """Set the account for the next start; `more` has further keys of `[publish]`."""
        (self.folder / "bench.toml").write_text(self._config + account.settings() + more)

    def filled(self, samples=1, *, seed=1, begin_ns=None):
        """Write whole samples of one run each into the database."""
        with contextlib.closing(FilledBench(self.database, seed=seed)) as bench:
            bench.now_ns = begin_ns or bench.now_ns
            for number in range(samples):
                bench.sample(f"{self.name}-{seed}-{number}", stresses=(8000.0,), replicates=1)
        return self

    def call(self, method, params):
        """Ask the running daemon."""

        async def ask():
            for _ in range(500):
                with contextlib.suppress(LinkError):
                    client = await Client.connect(self.folder / "control.sock")
                    break
                await asyncio.sleep(0.02)
            else:
                raise AssertionError(self.log())
            async with client:
                return await client.call(method, params)

        return asyncio.run(ask())

    def status(self):
        return self.call(server_methods.STATUS, act.NoParams())

    def works_on(self):
        """Let the running daemon record something; how long that took, in s."""
        sample = AddSampleParams(
            laboratory_number=f"S-{next(self._numbers)}",
            client_reference="pit 3",
            size="20/40",
            operator="KL",
        )
        began_s = time.perf_counter()
        self.call(ADD_SAMPLE, sample)
        return time.perf_counter() - began_s

    def publishing(self):
        """The publishing status of the running daemon."""
        return self.call(PUBLISHING, act.NoParams())

    def linked(self):
        """Wait until the running daemon is connected to the broker."""
        until(lambda: self.publishing().up)
        return self

    def publish_again(self):
        self.call(PUBLISH_AGAIN, act.NoParams())

    def rows(self, sql):
        """Rows of its database."""
        with contextlib.closing(sqlite3.connect(f"file:{self.database}?mode=ro", uri=True)) as db:
            return db.execute(sql).fetchall()

    def outbox(self):
        """How many records wait, and how many are parked."""
        ((there, waiting),) = self.rows("SELECT count(*), count(*) - count(parked) FROM outbox")
        return waiting, there - waiting

    def close(self):
        self.stop()
        self.line.close()


class CollectorProgram(Program):
    """A collector; its `line` is the network between it and the broker."""

    def __init__(self, folder, archive, broker_port, account, *, shared):
        super().__init__(folder, "-m", "ramphold.cli", "collect", "--config", "collect.toml")
        self.line = Proxy(broker_port)
        text = COLLECTOR.format(
            name=folder.name,
            archive=archive,
            port=self.line.port,
            shared="only-the-collectors-know" if shared else "",
        )
        (folder / "collect.toml").write_text(text + account.settings())

    def linked(self):
        """Wait until it is connected to the broker."""
        until(lambda: self.log().rfind("linked to") > self.log().rfind("no line to"))
        return self

    def close(self):
        self.stop()
        self.line.close()


class Laboratory:
    """A folder with a running broker and collector; `close` ends every process.

    Attributes:
        broker, collector: both running.
        archive: where the collector files.
    """

    def __init__(self, folder, archive=None, *, shared=False):
        folder.mkdir(exist_ok=True)
        self.folder = folder
        self.archive = archive or str(folder / "archive.db")
        self._shared = shared
        self.broker = Broker(folder / "broker").start()
        self._programs = []
        self._benches = itertools.count(1)
        self.collector = self.new_collector("collector").start().linked()

    def new_collector(self, name):
        account = self.broker.account(name)
        made = CollectorProgram(
            self.folder / name, self.archive, self.broker.port, account, shared=self._shared
        )
        self._programs.append(made)
        return made

    def bench(self, name=None, *, folder=None, kind=BenchProgram):
        """Another bench, not started."""
        name = name or f"press-{next(self._benches)}"
        account = self.broker.account(name)
        made = kind(self.folder / (folder or name), name, self.broker.port, account)
        self._programs.append(made)
        return made

    def rows(self, sql, *values):
        """Rows of the archive; none while there is no archive."""
        try:
            with open_archive(self.archive, read_only=True) as archive:
                return archive.database.rows(sql, values)
        except StoreError:
            return []

    def filed(self, bench):
        """How many records of a bench are filed."""
        return len(self.rows("SELECT 1 FROM events WHERE bench = ?", bench.name))

    def faults(self, *benches):
        """The differences between the archive and these benches, a line each."""
        with open_archive(self.archive, read_only=True) as archive:
            return [
                told for one in benches for told in compare(archive, one.database, one.name).faults
            ]

    def delivered(self, *benches, timeout_s=60.0):
        """Wait until benches have receipts for all their records; how long that took, in s."""
        began_s = time.perf_counter()
        until(lambda: all(one.outbox()[0] == 0 for one in benches), timeout_s)
        took_s = time.perf_counter() - began_s
        faults = self.faults(*benches)
        assert not faults, "\n".join(faults[:10])
        return took_s

    def mend(self):
        """Remove all benches and repair the rest."""
        self.end(*(one for one in self._programs if one is not self.collector))
        self.collector.line.back()
        for one in (self.broker, self.collector):
            if not one.running():
                one.start()
        self.collector.linked()

    def end(self, *programs):
        """Remove benches or collectors."""
        for program in programs:
            program.close()
            self._programs.remove(program)

    def close(self):
        self.end(*self._programs)
        self.broker.stop()
