"""What daemon and screens use, how late a reading is told, and how soon they start."""

import asyncio
import contextlib
import itertools
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import screen
from screen import RAMPHOLD, Stage

from ramphold.clock import NS_PER_S, SystemClock
from ramphold.control.client import Client
from ramphold.control.run_methods import ON_SNAPSHOT
from ramphold.testing import Use

CLOCK = SystemClock()
RATES = (10, 80, 320)
SCREENS = (0, 1, 5)


def use(seconds):
    """Shares of a core and MB of daemon and of a screen, by rate and number of screens."""
    rows = []
    for per_s, count in itertools.product(RATES, SCREENS):
        with tempfile.TemporaryDirectory() as folder:
            rows.append({"readings_per_s": per_s, "screens": count}
                        | asyncio.run(_use(folder, per_s, count, seconds)))  # fmt: skip
    return rows


async def _use(folder, per_s, count, seconds):
    stage = Stage(folder)
    try:
        await stage.begin()
        await stage.load(1, per_s=per_s)
        with contextlib.ExitStack() as screens:
            shown = [screens.enter_context(stage.screen(80, 24)) for _ in range(count)]
            await stage.load(3, per_s=per_s)
            programs = [stage.daemon, *(one.process for one in shown)]
            before, began_ns = [Use(one) for one in programs], CLOCK.now_ns()
            await stage.load(seconds, per_s=per_s, from_psi=400)
            took_s = (CLOCK.now_ns() - began_ns) / NS_PER_S
            after = [Use(one) for one in programs]
        shares = [100 * (b.cpu_s - a.cpu_s) / took_s for a, b in zip(before, after, strict=True)]
        memory = [one.memory / 2**20 for one in after]
        return {
            "daemon_pct": shares[0],
            "daemon_mb": memory[0],
            "screen_pct": statistics.mean(shares[1:]) if count else None,
            "screen_mb": statistics.mean(memory[1:]) if count else None,
        }
    finally:
        stage.close()


def latency(seconds, per_s=80):
    """In ms from the byte that ends a line to a subscriber that has decoded it, on a busy disk."""
    with tempfile.TemporaryDirectory() as folder:
        quiet = asyncio.run(_latency(folder, seconds, per_s))
        with busy_disk(Path(folder)):
            busy = asyncio.run(_latency(folder, seconds, per_s))
    return {"quiet disk": quiet, "busy disk": busy}


@contextlib.contextmanager
def busy_disk(folder):
    """Another program that writes 4 MB and waits for the disk, again and again."""
    program = (
        "import os, sys\n"
        "file = os.open(sys.argv[1], os.O_CREAT | os.O_WRONLY)\n"
        "while True:\n"
        "    os.pwrite(file, os.urandom(4 << 20), 0)\n"
        "    os.fsync(file)\n"
    )
    writer = subprocess.Popen([sys.executable, "-c", program, folder / "busy"])
    try:
        yield
    finally:
        writer.kill()
        writer.wait()


async def _latency(folder, seconds, per_s):
    with tempfile.TemporaryDirectory(dir=folder) as place:
        stage = Stage(place)
        try:
            await stage.begin()
            await stage.load(1, per_s=per_s)
            heard = {}
            async with await Client.connect(stage.folder / "control.sock") as client:
                told = await client.subscribe(ON_SNAPSHOT)

                async def listen():
                    async for one in told:
                        heard.setdefault(one.force_lbf, CLOCK.now_ns())

                listener = asyncio.create_task(listen())
                stage.sent.clear()
                # Each reading is another, so that it can be told which was heard.
                await stage.load(seconds, per_s=per_s, from_psi=300, psi_s=2 * per_s)
                await asyncio.sleep(0.5)
                listener.cancel()
        finally:
            stage.close()
    sent = {force_lbf: t_ns for t_ns, force_lbf in reversed(stage.sent)}
    late = sorted((heard[one] - sent[one]) / 1e6 for one in sent.keys() & heard.keys())
    return {
        "p50_ms": late[len(late) // 2],
        "p99_ms": late[int(len(late) * 0.99)],
        "max_ms": late[-1],
        "sent": len(sent),
        "heard": len(late),
    }


def starts(times=3):
    """In s from the start of a program to what shows that it has started; the middle of some."""
    found = {"daemon, to its socket's first answer": [], "screen, to its first paint": []}
    for _ in range(times):
        with tempfile.TemporaryDirectory() as folder:
            began = time.perf_counter()
            stage = Stage(folder)
            try:
                asyncio.run(stage.begin())
                found["daemon, to its socket's first answer"].append(time.perf_counter() - began)
                found["screen, to its first paint"].append(_first_paint(stage))
            finally:
                stage.close()
    names = re.findall(r"^  ([a-z]+)  ", _run("--help")[1], re.MULTILINE)
    for name in ("", *names):
        command = (name, "--help") if name else ("--help",)
        found[f"ramphold {' '.join(command)}"] = [_run(*command)[0] for _ in range(times)]
    return {name: statistics.median(took) for name, took in found.items()}


def _first_paint(stage):
    began_ns = CLOCK.now_ns()
    with stage.screen(80, 24) as terminal:
        while not any("load lbf" in text for _, text in screen.displays(terminal)):
            time.sleep(0.02)
        return (
            next(at - began_ns for at, text in screen.displays(terminal) if "load lbf" in text)
            / NS_PER_S
        )


def _run(*arguments):
    began = time.perf_counter()
    done = subprocess.run([*RAMPHOLD, *arguments], check=True, capture_output=True, text=True)
    return time.perf_counter() - began, done.stdout


def imports(modules=("ramphold.cli", "ramphold.daemon.main", "ramphold_tui.app"), most=8):
    """In ms what importing each takes, and the dearest of what it imports in turn."""
    found = {}
    for module in modules:
        done = subprocess.run(
            [sys.executable, "-X", "importtime", "-c", f"import {module}"],
            check=True, capture_output=True, text=True,
        )  # fmt: skip
        rows = re.findall(r"import time: +\d+ \| +(\d+) \| +(\S+)$", done.stderr, re.MULTILINE)
        dearest = sorted(((int(us) / 1000, name) for us, name in rows), reverse=True)
        found[module] = {name: ms for ms, name in dearest[:most]}
    return found
