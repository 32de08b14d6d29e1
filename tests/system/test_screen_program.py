"""The real screen in a terminal, with a real daemon that is killed, restarted or held up."""

import asyncio
import itertools
import os
import platform
import signal
import sys
from pathlib import Path

import pyte
import pytest

from ramphold.control import run_methods, specimen_methods
from ramphold.store import Store
from ramphold.testing import Terminal

pytestmark = pytest.mark.slow

#: Number of the call `write`, by processor.
WRITE = {"x86_64": 1, "aarch64": 64}[platform.machine()]
HELD_LBF = 3141.6
START = run_methods.StartRunParams(specimen=1, operator="ab", hold_s=600)


class Watched:
    """The screen in a terminal, and the text on it."""

    def __init__(self, site, columns=100, rows=30):
        command = [sys.executable, "-m", "ramphold.cli", "watch", "--socket", str(site.socket)]
        self.terminal = Terminal(command, columns, rows)
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)
        self._seen = 0

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.terminal.close()

    def text(self):
        new = self.terminal.chunks[self._seen :]
        self._seen += len(new)
        for _, data in new:
            self._stream.feed(data)
        return "\n".join(self._screen.display)

    async def shows(self, *words, within_s=30):
        """Wait until it shows all these words."""
        for _ in range(within_s * 10):
            text = await asyncio.to_thread(self.text)
            if all(word in text for word in words):
                return text
            await asyncio.sleep(0.1)
        raise AssertionError(f"not shown: {words}\n{text}")


def is_writing(pid):
    """Whether a thread of the process is blocked in a write."""
    calls = Path(f"/proc/{pid}/task").glob("*/syscall")
    return any(call.read_text().startswith(f"{WRITE} ") for call in calls)


async def begin(client):
    specimen = specimen_methods.AddSpecimenParams(label="s", target_psi=4000, operator="ab")
    await client.call(specimen_methods.ADD_SPECIMEN, specimen)
    await client.call(run_methods.START_RUN, START)


def test_a_daemon_that_is_killed_is_said_at_once_and_its_successor_is_found(site):
    async def body():
        site.start()
        async with site.connected() as client:
            await site.load_is(client, "open")
            await begin(client)
        with Watched(site) as watched:
            # 2513 lbf over pi square inches are 800 psi.
            async with site.sending(force_lbf=2513.3):
                await watched.shows("linked", "ramp", "10 287 lbf below")
                os.kill(site.daemon.pid, signal.SIGKILL)
                site.daemon.wait()
                await watched.shows("NO LINK", "nothing heard from the daemon for", within_s=3)
                assert watched.terminal.process.poll() is None
                site.start()
                # The new daemon takes the run up, and says so.
                text = await watched.shows("linked", "ramp", "run 1 goes on after")
                assert "NO LINK" not in text
            watched.terminal.press("\x11")  # Ctrl Q
            assert await asyncio.to_thread(watched.terminal.process.wait, 10) == 0

    asyncio.run(body())


def test_a_terminal_that_vanishes_without_a_signal_ends_the_screen(site):
    # Fault: it read the terminal that was gone for ever, at a fifth of a core or more.
    async def body():
        site.start()
        async with site.connected() as client:
            await site.load_is(client, "open")
        with Watched(site) as watched:
            async with site.sending(force_lbf=2513.3):
                await watched.shows("linked")
                await asyncio.to_thread(watched.terminal.vanish)
                assert await asyncio.to_thread(watched.terminal.process.wait, 10)

    asyncio.run(body())


def test_a_terminal_that_takes_nothing_delays_no_reading_and_then_shows_the_newest(site):
    async def body():
        site.start()
        async with site.connected() as client:
            await site.load_is(client, "open")
            await begin(client)
        with Watched(site, 200, 60) as watched:
            terminal = watched.terminal
            async with site.sending(force_lbf=2513.3):
                await watched.shows("10 287 lbf below")
            terminal.block()
            async with site.sending(force_lbf=HELD_LBF):
                for step in range(100):  # to the balance and back, to fill the buffer
                    if is_writing(terminal.process.pid):
                        break
                    terminal.press(("\x1bOR", "\x1bOQ")[step % 2])  # F3, F2
                    await asyncio.sleep(0.1)
                await asyncio.sleep(3)
                assert is_writing(terminal.process.pid)
            terminal.go_on()
            terminal.press("\x1bOQ")
            async with site.sending(force_lbf=3769.9):
                await watched.shows("9 030 lbf below")

    asyncio.run(body())
    site.daemon.terminate()
    site.daemon.wait(5)
    with Store.open(site.folder / "runs.sqlite3") as store:
        readings = store.runs.readings(1)
    held_ns = [one.t_ns for one in readings if one.force_lbf == pytest.approx(HELD_LBF)]
    gaps_s = [(b - a) / 1e9 for a, b in itertools.pairwise(held_ns)]
    # More than three seconds at 80/s passed while the screen could not draw.
    assert len(held_ns) > 80 * 3
    # Readings are missing after half a second; the rest is for a busy machine.
    assert max(gaps_s) < 0.5
