"""What opening a database, a report, a replay and filing in the archive cost."""

import contextlib
import io
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import collecting
import keeping

from ramphold.store import Store
from ramphold.testing.runs import drawn

SPECIMENS = (1_000, 10_000, 100_000)


def opening(sizes=SPECIMENS):
    """Size of a database, and ms to open it as the daemon does and to answer its first page."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        path, filled = Path(folder) / "full.sqlite3", 0
        for size in sizes:
            with Store.open(path) as store, store._connection.transaction():
                for number in range(filled, size // keeping.PER_SAMPLE):
                    keeping.fill(store, number)
            filled = size // keeping.PER_SAMPLE
            took = [_open(path) for _ in range(3)]
            rows.append(
                {
                    "specimens": size,
                    "mb": path.stat().st_size / 1e6,
                    "open_ms": 1000 * min(one for one, _ in took),
                    "first_page_ms": 1000 * min(one for _, one in took),
                }
            )
    return rows


def _open(path):
    began = time.perf_counter()
    with Store.open(path) as store:
        opened = time.perf_counter()
        store.samples.page(None, 50)
        answered = time.perf_counter()
    return opened - began, answered - opened


def report():
    """s, s of processor and MB of the report of 15 runs of `bench-keeping`, by what is written."""
    with tempfile.TemporaryDirectory() as folder, io.StringIO() as told:
        with contextlib.redirect_stdout(told):
            keeping.report(Path(folder))
        found = re.findall(
            r"^(HTML[a-zA-Z ]*?) +([\d.]+) +([\d.]+) +([\d.]+)$", told.getvalue(), re.MULTILINE
        )
    return {name: dict(zip(("s", "cpu_s", "mb"), map(float, rest), strict=True))
            for name, *rest in found}  # fmt: skip


def replay():
    """s, and times faster than life, of `ramphold replay` over four minutes at 80 readings/s."""
    corners = [(0, 0), (1, 0), (121, 4000), (242, 4000), (243, 0), (245, 0)]
    readings = drawn(corners, per_s=80)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "load.csv"
        rows = (f"{one.t_ns / 1e9},{one.force_lbf:.1f}\n" for one in readings)
        file.write_text("t_s,force_lbf\n" + "".join(rows))
        began = time.perf_counter()
        command = [sys.executable, "-m", "ramphold.cli", "replay", file, "--target", "4000psi"]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        took = time.perf_counter() - began
    return {"s": took, "times_life": corners[-1][0] / took, "readings": len(readings)}


def collector(messages):
    """Messages a second of the collector and of the bare loop of `bench-collecting`, once each."""
    rows = {}
    with tempfile.TemporaryDirectory() as folder:
        for name, waiting in collecting.loads(Path(folder), messages).items():
            place = Path(folder) / name.partition(" ")[0]
            bare, _ = collecting.timed(Path(f"{place}-bare"), waiting, collecting.bare)
            ours, _ = collecting.timed(Path(f"{place}-ours"), waiting, collecting.collector)
            rows[name] = {"per_s": 1 / ours, "bare_per_s": 1 / bare, "ratio": bare / ours}
    return rows
