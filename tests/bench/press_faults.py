"""What can fail at the press in mid-run: what the screen said, how soon, and what was kept.

`make bench-faults`. A real daemon on pseudo-terminals with a live run at 40 readings/s, and the
real screen in a terminal of 80x24. Each reading has a number in it, so that one that is missing
between two others shows; while the daemon is down none is sent. Names may be given to run only
some; `--kills N` kills the daemon N times at random moments and starts it again.
"""

import argparse
import asyncio
import contextlib
import os
import random
import re
import resource
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

import pyte
from screen import RAMPHOLD, Stage

from ramphold.control import act, run_methods, server_methods
from ramphold.control.client import Client
from ramphold.errors import CommandRefused, LinkError, PortError
from ramphold.store import Store

PER_S = 40
NUMBERS = 97
#: What stands beside the large letters, which are no text, or in their place.
UNRECORDED = "NOT RECORDED:|NOT WRITTEN:|can't be written"
NOTHING = act.NoParams()
FAULTS = []


def fault(function):
    FAULTS.append(function)
    return function


class Press(Stage):
    """A bench with a live run, a load that is read all the time, and a screen."""

    def __init__(self, folder):
        super().__init__(folder)
        self.database = self.folder / "runs.sqlite3"
        self.sending = True
        self.shown = pyte.Screen(80, 24)
        self.stream = pyte.ByteStream(self.shown)

    @contextlib.asynccontextmanager
    async def running(self):
        await self.begin()
        task = asyncio.create_task(self._send())
        try:
            with self.screen(80, 24) as self.terminal:
                await self.shows("load lbf")
                yield self
        finally:
            task.cancel()
            await asyncio.wait([task])

    async def _send(self):
        number = 0
        while True:
            if self.sending:
                with contextlib.suppress(PortError, OSError):
                    self.bench.send_load(600 + number % NUMBERS)
                    number += 1
            await asyncio.sleep(1 / PER_S)

    def lines(self):
        """What the screen shows now."""
        chunks, self.terminal.chunks = self.terminal.chunks, []
        for _, data in chunks:
            self.stream.feed(data)
        return [line.strip() for line in self.shown.display if line.strip()]

    async def shows(self, words, *, gone=False, patience_s=20.0):
        """Wait until a line of the screen fits a pattern, or none does: seconds, and the line."""
        began = time.perf_counter()
        while time.perf_counter() - began < patience_s:
            found = [line for line in self.lines() if re.search(words, line)]
            if bool(found) is not gone:
                return time.perf_counter() - began, (found or [""])[0]
            await asyncio.sleep(0.1)
        return None, "nothing: " + " | ".join(self.lines()[:6])

    async def ask(self, method, params=NOTHING):
        async with await Client.connect(self.folder / "control.sock") as client:
            return await client.call(method, params)

    async def ended(self):
        """End the run, and wait until that is written."""
        params = run_methods.EndRunParams(reason="over", operator="ab")
        told = await self.ask(run_methods.END_RUN, params)
        for _ in range(100):
            if not told.unwritten or not (await self.ask(run_methods.SNAPSHOT)).unwritten:
                return
            await asyncio.sleep(0.1)

    def lost(self):
        """How many readings are missing between those that the database has."""
        with Store.read(self.database) as store:
            forces = [
                round(reading.force_lbf)
                for run in reversed(store.runs.page(limit=10_000))
                for reading in store.runs.readings(run.id)
                if reading.usable
            ]
        return sum((after - before - 1) % NUMBERS for before, after in pairwise(forces))

    def handles(self):
        return len(list(Path(f"/proc/{self.daemon.pid}/fd").iterdir()))

    async def restart(self, *, kill=False):
        """End the daemon, start it, and wait until it reads again; its newest status."""
        self.sending = False
        await asyncio.sleep(0.1)
        self.daemon.send_signal(signal.SIGKILL if kill else signal.SIGTERM)
        await asyncio.to_thread(self.daemon.wait)
        self.start()
        for _ in range(400):
            with contextlib.suppress(LinkError):
                status = await self.ask(server_methods.STATUS)
                if any(one.name == "load" and one.kind == "open" for one in status.instruments):
                    break
            await asyncio.sleep(0.05)
        self.sending = True
        return status

    def start(self):
        self.daemon = subprocess.Popen(
            [*RAMPHOLD, "daemon", "--config", self.folder / "bench.toml"],
            stderr=subprocess.DEVNULL,
        )


def fill(folder):
    """Write until the disk is full."""
    with contextlib.suppress(OSError), (folder / "ballast").open("wb", buffering=0) as file:
        while True:
            file.write(bytes(4096))


async def mended(press, repair, words=UNRECORDED):
    """Let it be told, repair it, and end the run: what was said and what was lost."""
    took_s, said = await press.shows(words)
    repair()
    back_s, _ = await press.shows(words, gone=True, patience_s=40)
    await press.ended()
    return took_s, said, back_s, press.lost()


# --- the disk --------------------------------------------------------------------------------


@fault
async def disk_full_during_the_run(press):
    fill(press.folder)
    return await mended(press, (press.folder / "ballast").unlink)


@fault
async def disk_full_when_the_run_ends(press):
    await asyncio.sleep(1.5)
    fill(press.folder)
    end = run_methods.EndRunParams(reason="over", operator="ab")
    await press.ask(run_methods.END_RUN, end)
    took_s, said = await press.shows(UNRECORDED)
    (press.folder / "ballast").unlink()
    back_s, _ = await press.shows(UNRECORDED, gone=True)
    await asyncio.sleep(2)
    return took_s, said, back_s, press.lost()


@fault
async def disk_full_before_the_run(press):
    await press.ended()
    fill(press.folder)
    began = time.perf_counter()
    start = run_methods.StartRunParams(specimen=1, operator="ab")
    try:
        await press.ask(run_methods.START_RUN, start)
        said = "it was started"
    except CommandRefused as error:
        said = str(error)
    took_s = time.perf_counter() - began
    (press.folder / "ballast").unlink()
    return took_s, said.replace(f"{press.folder}/", ""), None, press.lost()


@fault
async def locked_by_another_program_for_30_s(press):
    with contextlib.closing(sqlite3.connect(press.database, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        began = time.perf_counter()
        took_s, said = await press.shows(UNRECORDED)
        await asyncio.sleep(max(0, 30 - (time.perf_counter() - began)))
        other.execute("ROLLBACK")
    back_s, _ = await press.shows(UNRECORDED, gone=True)
    await press.ended()
    return took_s, said, back_s, press.lost()


@fault
async def log_of_the_database_deleted(press):
    await asyncio.sleep(1.5)
    press.database.with_name("runs.sqlite3-wal").unlink()
    took_s, said = await press.shows(UNRECORDED)
    return took_s, said, None, await restarted(press)


@fault
async def database_replaced_by_a_copy(press):
    await asyncio.sleep(1.5)
    whole = press.database.read_bytes()
    press.database.unlink()
    press.database.write_bytes(whole)
    took_s, said = await press.shows(UNRECORDED)
    return took_s, said, None, await restarted(press)


@fault
async def pages_overwritten_during_the_run(press):
    await press.ended()
    await asyncio.sleep(7)  # without a run the log is written into the file every five seconds
    start = run_methods.StartRunParams(specimen=1, operator="ab", hold_s=100_000)
    await press.ask(run_methods.START_RUN, start)
    await asyncio.sleep(1.5)
    overwrite(press.database)
    took_s, said = await press.shows(UNRECORDED)
    return took_s, said, None, "-"


@fault
async def pages_overwritten_between_runs(press):
    await press.ended()
    await asyncio.sleep(7)
    overwrite(press.database)
    took_s, said = await press.shows("damaged")
    return took_s, said, None, "-"


def overwrite(database):
    """Write rubbish over all pages but the first."""
    with database.open("r+b") as file:
        file.seek(4096)
        file.write(random.Random(1).randbytes(database.stat().st_size - 4096))


async def restarted(press):
    """Restart the daemon, as its sentence says; the readings lost until then."""
    status = await press.restart()
    await asyncio.sleep(1)
    if status.run is not None:
        await press.ended()
    return press.lost()


# --- handles, ports and clients --------------------------------------------------------------


@fault
async def handles_used_up(press):
    used = press.handles()
    soft, hard = resource.prlimit(press.daemon.pid, resource.RLIMIT_NOFILE)
    resource.prlimit(press.daemon.pid, resource.RLIMIT_NOFILE, (used, hard))
    await asyncio.sleep(5)
    live = press.daemon.poll() is None
    resource.prlimit(press.daemon.pid, resource.RLIMIT_NOFILE, (soft, hard))
    await press.ended()
    said = "recorded on, nothing to tell" if live else "the daemon died"
    return None, said, None, press.lost()


@fault
async def port_unplugged_and_plugged_in_again(press):
    press.bench.unplug("load")
    took_s, said = await press.shows("NOT WORKING: load")
    press.sending = False
    press.bench.replug("load")
    back_s, _ = await press.shows("NOT WORKING: load", gone=True)
    press.sending = True
    await asyncio.sleep(1)
    await press.ended()
    return took_s, said, back_s, press.lost()


@fault
async def port_floods_with_rubbish(press):
    end = time.perf_counter() + 5
    rubbish = random.Random(2)
    while time.perf_counter() < end:
        with contextlib.suppress(PortError, OSError):
            press.bench.send_bytes("load", rubbish.randbytes(200))
        await asyncio.sleep(0.001)
    took_s, said = await press.shows("NOT WORKING: load", patience_s=2)
    back_s, _ = await press.shows("NOT WORKING: load", gone=True)
    await press.ended()
    # Rubbish between the lines spoils them; each is kept as garbled.
    return took_s, said, back_s, 0


@fault
async def half_lines(press):
    for _ in range(100):
        with contextlib.suppress(PortError, OSError):
            press.bench.send_bytes("load", b"ST,GS,+00")
        await asyncio.sleep(0.02)
    await press.ended()
    # A half line spoils the whole one after it, which is kept as garbled.
    return None, "garbled lines are kept as such", None, 0


@fault
async def three_hundred_clients_that_read_nothing(press):
    links = []
    for _ in range(300):
        link = socket.socket(socket.AF_UNIX)
        link.settimeout(0)
        with contextlib.suppress(OSError):
            link.connect(str(press.folder / "control.sock"))
            link.send(b'{"jsonrpc":"2.0","id":1,"method":"subscribe",'
                      b'"params":{"topics":["snapshot","event"]}}\n')  # fmt: skip
        links.append(link)
    await asyncio.sleep(5)
    for link in links:
        link.close()
    await asyncio.sleep(1)  # this process may connect again once they are seen to be gone
    await press.ended()
    return None, "nothing to tell", None, press.lost()


# --- kills -----------------------------------------------------------------------------------


async def kills(press, count, seed=1):
    """Kill the daemon at random moments of a run: commits lost, runs interrupted, readings lost."""
    rng, commits_lost, interrupted, before = random.Random(seed), 0, 0, 0
    lost = []
    for _ in range(count):
        await asyncio.sleep(rng.uniform(0.2, 2.2))
        committed = len_kept(press)
        status = await press.restart(kill=True)
        commits_lost += len_kept(press) < committed
        if status.run is None:
            interrupted += 1
            start = run_methods.StartRunParams(specimen=1, operator="ab", hold_s=100_000)
            await press.ask(run_methods.START_RUN, start)
        await asyncio.sleep(1.2)  # for a commit, so that what is missing shows
        total = press.lost()
        lost.append(total - before)
        before = total
    return commits_lost, interrupted, lost


def len_kept(press):
    with Store.read(press.database) as store:
        return sum(len(store.runs.trace(one.id)) for one in store.runs.page(limit=10_000))


# --- the table -------------------------------------------------------------------------------


@contextlib.contextmanager
def small_disk():
    """A folder on a disk of its own, or an ordinary one where none may be mounted."""
    with tempfile.TemporaryDirectory(prefix="r") as folder:
        mount = ["mount", "-t", "tmpfs", "-o", "size=16m", "ramphold", folder]
        done = subprocess.run(mount, check=False, capture_output=True)
        try:
            yield Path(folder), done.returncode == 0
        finally:
            if done.returncode == 0:
                subprocess.run(["umount", "-l", folder], check=True)


async def one_row(function):
    with small_disk() as (folder, small):
        if not small and "full" in function.__name__:
            return None, "only root may mount a small disk", None, "-"
        press = Press(folder)
        try:
            async with press.running():
                await asyncio.sleep(1.5)
                return await function(press)
        finally:
            press.close()


async def kill_table(count):
    with small_disk() as (folder, _):
        press = Press(folder)
        try:
            async with press.running():
                return await kills(press, count)
        finally:
            press.close()


def main():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("names", nargs="*")
    parser.add_argument("--kills", type=int, default=0)
    given = parser.parse_args()
    os.environ["RUNTIME_DIRECTORY"] = tempfile.mkdtemp(prefix="ramphold-second-")
    sys.stdout.reconfigure(line_buffering=True)
    wrong = 0
    if not given.kills:
        print(f"{'fault in mid-run':<44}{'told s':>7}{'back s':>7}{'lost':>6}  what was said")
        for function in FAULTS:
            if given.names and function.__name__ not in given.names:
                continue
            took_s, said, back_s, lost = asyncio.run(one_row(function))
            wrong += lost not in {0, "-"}
            seconds = [f"{one:7.1f}" if one is not None else "      -" for one in (took_s, back_s)]
            name = function.__name__.replace("_", " ")
            print(f"{name:<44}{''.join(seconds)}{lost!s:>6}  {said}")
    else:
        commits, interrupted, lost = asyncio.run(kill_table(given.kills))
        print(
            f"{given.kills} kills: {commits} commits lost, {interrupted} runs interrupted, "
            f"readings lost each time at most {max(lost)} of {PER_S} a second, "
            f"{sum(lost) / len(lost):.1f} in the mean"
        )
        wrong += commits
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
