"""A bench of pseudo-terminals with the real daemon in a process of its own."""

import asyncio
import contextlib
import os
import socket
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import pytest

from ramphold.clock import NS_PER_S, SystemClock
from ramphold.control import act, server_methods
from ramphold.control.client import Client
from ramphold.errors import LinkError
from ramphold.sim.ports import SimulatedPorts
from support.broker import Broker

CLOCK = SystemClock()
CONFIG = """
bench = "press-1"
press.rating = "50000lbf"
load = {{ kind = "indicator", port = "{load}", capacity = "50000lbf", readings_per_s = {per_s} }}
balance = {{ port = "{folder}/balance", profile = "reply-state" }}
calibration.folder = "{folder}/certificates"
store.path = "{database}"
control.socket = "{folder}/control.sock"
"""


@pytest.fixture
def tmp_path():
    """A folder with a short name: a socket's has at most 107 bytes, with all its folders."""
    with tempfile.TemporaryDirectory(prefix="r") as folder:
        yield Path(folder)


@pytest.fixture
def mounted(tmp_path):
    """A function that mounts a disk of a size such as `2m`, and gives its folder."""
    disk = tmp_path / "disk"

    def mount(size):
        disk.mkdir()
        command = ["mount", "-t", "tmpfs", "-o", f"size={size}", "ramphold", disk]
        if subprocess.run(command, check=False, capture_output=True).returncode:
            pytest.skip("only root may mount a small disk")
        return disk

    yield mount
    if disk.is_mount():
        subprocess.run(["umount", disk], check=True)


def now_s():
    return CLOCK.now_ns() / NS_PER_S


@dataclass
class Use:
    """Processor time in s and memory in bytes that a process has used."""

    cpu_s: float
    memory: int


class Site:
    """A folder with a configuration, a bench, and a daemon process."""

    def __init__(self, folder):
        self.folder = folder
        self.socket = folder / "control.sock"
        (folder / "certificates").mkdir(exist_ok=True)
        self.bench = SimulatedPorts(folder)
        self.daemon = None
        self.sent = 0

    def start(self, load=None, per_s=80, database=None, **environ):
        (self.folder / "bench.toml").write_text(
            CONFIG.format(
                folder=self.folder,
                database=database or self.folder / "runs.sqlite3",
                load=load or self.bench.load_path,
                per_s=per_s,
            )
        )
        with (self.folder / "log").open("ab") as log:
            self.daemon = subprocess.Popen(
                [sys.executable, "-m", "ramphold.cli", "daemon", "--config", "bench.toml"],
                stderr=log,
                cwd=self.folder,
                env={**os.environ, **environ},
            )

    def log(self):
        return (self.folder / "log").read_text()

    @contextlib.asynccontextmanager
    async def connected(self):
        for _ in range(200):
            with contextlib.suppress(LinkError):
                client = await Client.connect(self.socket)
                break
            await asyncio.sleep(0.05)
        else:
            raise AssertionError(self.log())
        async with client:
            yield client

    async def load_is(self, client, kind):
        """Wait until the load is in a state."""
        for _ in range(400):
            status = await client.call(server_methods.STATUS, act.NoParams())
            if any((one.name, one.kind) == ("load", kind) for one in status.instruments):
                return CLOCK.now_ns()
            await asyncio.sleep(0.01)
        raise AssertionError(status)

    @contextlib.asynccontextmanager
    async def sending(self, force_lbf=1256.6, per_s=80):
        """While the block runs the load indicator sends a steady load, and the balance answers."""

        async def send():
            began_s = now_s()
            while True:
                self.bench.send_load(force_lbf)
                self.bench.serve()
                self.sent += 1
                await asyncio.sleep(max(0, began_s + self.sent / per_s - now_s()))

        self.sent = 0
        task = asyncio.create_task(send())
        try:
            yield
        finally:
            task.cancel()
            await asyncio.wait([task])

    def use(self):
        """Time and memory that the daemon has used so far."""
        stat = Path(f"/proc/{self.daemon.pid}/stat").read_text()
        fields = stat.rpartition(")")[2].split()
        ticks = int(fields[11]) + int(fields[12])
        pages = int(fields[21])
        return Use(ticks / os.sysconf("SC_CLK_TCK"), pages * os.sysconf("SC_PAGE_SIZE"))

    def close(self):
        if self.daemon and self.daemon.poll() is None:
            self.daemon.terminate()
            self.daemon.wait(5)
        self.bench.close()


@pytest.fixture
def site(tmp_path):
    made = Site(tmp_path)
    made.bench.serve()
    yield made
    made.close()


@pytest.fixture
def manager(tmp_path):
    """A service manager's socket, to read what a daemon sends it."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(tmp_path / "notify"))
        manager.settimeout(5)
        yield manager


@pytest.fixture
def broker(tmp_path):
    """A real broker with the sample configuration."""
    made = Broker(tmp_path / "broker")
    made.start()
    yield made
    made.stop()
