"""What the operator's screen costs, and how soon it shows a reading: the real programs in a pty.

    python tests/bench/screen.py [--minutes N]

A daemon on pseudo-terminals, `ramphold watch` in a terminal of each size, a run that is live. The
time counts from the line that leaves the simulated indicator, or from a key, to the piece of output
after which the terminal shows what it says or leads to. Memory is taken over N minutes at 80
readings/s.
"""

import argparse
import asyncio
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

import pyte

from ramphold.clock import NS_PER_S, SystemClock
from ramphold.control import run_methods, specimen_methods
from ramphold.control.client import Client
from ramphold.errors import LinkError
from ramphold.sim.ports import SimulatedPorts
from ramphold.testing import Terminal, Use

CLOCK = SystemClock()
AREA_IN2 = 3.141592653589793
CONFIG = """
bench = "press-1"
press.rating = "50000lbf"
load = {{ kind = "indicator", port = "{folder}/load", capacity = "50000lbf", readings_per_s = 80 }}
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/control.sock"
"""
RAMPHOLD = (sys.executable, "-m", "ramphold.cli")
SIZES = ((80, 24), (120, 40))
#: A key, and what stands only in the place that it leads to.
KEYS = (("w", "found so far"), ("r", "fines %"), ("i", "daily checks"), ("t", "sieve timers"),
        ("\x1bOQ", "stress psi"))  # fmt: skip


class Stage:
    """A daemon with a run that goes on for hours, and a load that follows its line."""

    def __init__(self, folder):
        self.folder = Path(folder)
        self.bench = SimulatedPorts(self.folder)
        (self.folder / "bench.toml").write_text(CONFIG.format(folder=folder))
        self.daemon = subprocess.Popen(
            [*RAMPHOLD, "daemon", "--config", self.folder / "bench.toml"],
            stderr=subprocess.DEVNULL,
        )
        self.sent = []

    async def begin(self):
        while True:
            try:
                client = await Client.connect(self.folder / "control.sock")
                break
            except LinkError:
                await asyncio.sleep(0.05)
        async with client:
            wanted = specimen_methods.AddSpecimenParams(label="s", target_psi=4000, operator="ab")
            made = await client.call(specimen_methods.ADD_SPECIMEN, wanted)
            start = run_methods.StartRunParams(
                specimen=made.specimen, operator="ab", hold_s=100_000, rate_psi_min=400
            )
            await client.call(run_methods.START_RUN, start)

    async def load(self, seconds, *, per_s, psi_s=400 / 60, from_psi=150.0):
        """Let the load rise on its line, up to the target, for so long."""
        began_ns = CLOCK.now_ns()
        for step in range(round(seconds * per_s)):
            # A wave on top, so that every reading is another and the trace has something to draw.
            psi = min(from_psi + psi_s * step / per_s, 4000.0) + 3 * (step % 2)
            force_lbf = round(psi * AREA_IN2)
            self.bench.send_load(force_lbf)
            self.sent.append((CLOCK.now_ns(), force_lbf))
            due_ns = began_ns + round((step + 1) * NS_PER_S / per_s)
            await asyncio.sleep(max(0, (due_ns - CLOCK.now_ns()) / NS_PER_S))

    def screen(self, columns, rows):
        socket = str(self.folder / "control.sock")
        return Terminal([*RAMPHOLD, "watch", "--socket", socket], columns, rows)

    def close(self):
        self.daemon.terminate()
        self.daemon.wait()
        self.bench.close()


def displays(terminal):
    """What the terminal shows after each piece of output, with its time."""
    screen = pyte.Screen(terminal.columns, terminal.rows)
    stream = pyte.ByteStream(screen)
    for t_ns, data in terminal.chunks:
        stream.feed(data)
        yield t_ns, "\n".join(screen.display)


def latencies_ms(terminal, sent, ceiling_lbf=12_800):
    """From each reading that the screen came to show to when it showed it."""
    # The load stands on the screen as what is left to the ceiling; the run's is a median of three.
    waiting = list(zip(sent[2:], sent, sent[1:], strict=False))
    found, shown = [], [(t_ns, text) for t_ns, text in displays(terminal)]
    for (t_ns, newest), (_, first), (_, second) in waiting:
        median = statistics.median((newest, first, second))
        words = f"{ceiling_lbf - median:,.0f} lbf below".replace(",", " ")
        after = next((at for at, text in shown if at >= t_ns and words in text), None)
        if after is not None and after - t_ns < NS_PER_S:
            found.append((after - t_ns) / 1e6)
    return found


async def key_latencies_ms(stage, terminal, times=40):
    """From each key to when the terminal shows the place that it leads to, under 10 readings/s."""
    pressed = []
    load = asyncio.create_task(stage.load(times, per_s=10, from_psi=400))
    for count in range(times):
        key, words = KEYS[count % len(KEYS)]
        pressed.append((CLOCK.now_ns(), words))
        terminal.press(key)
        await asyncio.sleep(0.7)
    load.cancel()
    shown = list(displays(terminal))
    return [
        next(at - t_ns for at, text in shown if at >= t_ns and words in text) / 1e6
        for t_ns, words in pressed
    ]


async def measure(columns, rows, seconds=60):
    with tempfile.TemporaryDirectory() as folder:
        stage = Stage(folder)
        try:
            await stage.begin()
            await stage.load(3, per_s=10)
            began_ns = CLOCK.now_ns()
            with stage.screen(columns, rows) as terminal:
                stage.sent.clear()
                await stage.load(seconds / 2, per_s=10, from_psi=200)
                first = next(at for at, text in displays(terminal) if "load lbf" in text)
                late = sorted(latencies_ms(terminal, stage.sent))
                keys = sorted(await key_latencies_ms(stage, terminal))
                before, at_ns = Use(terminal.process), CLOCK.now_ns()
                await stage.load(seconds, per_s=80, from_psi=600, psi_s=20)
                used_s = Use(terminal.process).cpu_s - before.cpu_s
                share = used_s / (CLOCK.now_ns() - at_ns) * NS_PER_S
        finally:
            stage.close()
    p50, p95 = (late[int(len(late) * part)] for part in (0.5, 0.95))
    key_p50, key_p95 = (keys[int(len(keys) * part)] for part in (0.5, 0.95))
    print(
        f"{columns}x{rows}: first paint {(first - began_ns) / NS_PER_S:.2f} s; "
        f"reading to screen at 10/s: median {p50:.0f} ms, p95 {p95:.0f} ms "
        f"(of {len(late)}/{round(seconds * 5)}); "
        f"key to screen: median {key_p50:.0f} ms, p95 {key_p95:.0f} ms; "
        f"at 80/s {100 * share:.1f} % of a core",
        flush=True,
    )


async def remember(minutes, columns=120, rows=40):
    """Memory of screen and daemon, a line every five minutes."""
    with tempfile.TemporaryDirectory() as folder:
        stage = Stage(folder)
        try:
            await stage.begin()
            with stage.screen(columns, rows) as terminal:
                for minute in range(minutes + 1):
                    await stage.load(60, per_s=80, from_psi=min(150 + minute * 400, 4000))
                    stage.sent.clear()
                    terminal.chunks.clear()
                    if minute % 5 == 0:
                        screen, daemon = map(Use, (terminal.process, stage.daemon))
                        print(
                            f"after {minute + 1} min: screen {screen.memory / 2**20:.1f} MB, "
                            f"daemon {daemon.memory / 2**20:.1f} MB",
                            flush=True,
                        )
        finally:
            stage.close()


def main():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--minutes", type=int, default=0)
    parser.add_argument("--seconds", type=int, default=60)
    given = parser.parse_args()
    if given.minutes:
        asyncio.run(remember(given.minutes))
        return
    for columns, rows in SIZES:
        asyncio.run(measure(columns, rows, given.seconds))


if __name__ == "__main__":
    main()
