"""What the program costs, on one page: `make bench`, eight minutes at most on two cores.

Writes `costs-table.txt` and `costs.json` beside itself. Ratios come from this one run; figures in
seconds belong to the computer named on top, and to how busy it was.
"""

import argparse
import json
import os
import platform
import statistics
import sys
import tempfile
import time
from pathlib import Path

import _daemon_cost as daemon_cost
import _reading_cost as reading_cost
import _work_cost as work_cost
from _cost_page import page

HERE = Path(__file__).parent


def main():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--quick", action="store_true", help="a tenth of it, and nothing is kept")
    quick = parser.parse_args().quick
    with tempfile.TemporaryDirectory() as byte_code:
        # An installed program has its byte code; a checkout may be kept from writing any.
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        os.environ["PYTHONPYCACHEPREFIX"] = byte_code
        measure_all(quick=quick)


def measure_all(*, quick):
    """Measure everything, print the page, and keep it unless it was a quick look."""
    began = time.perf_counter()
    found = {"machine": machine()}
    for name, measure in (
        ("reading", lambda: reading(1 if quick else 7)),
        ("latency", lambda: daemon_cost.latency(3 if quick else 20)),
        ("use", lambda: daemon_cost.use(1 if quick else 8)),
        ("starts", lambda: daemon_cost.starts(1 if quick else 3)),
        ("imports", daemon_cost.imports),
        ("report", work_cost.report),
        ("replay", work_cost.replay),
        ("opening", lambda: work_cost.opening((100, 1000) if quick else work_cost.SPECIMENS)),
        ("collector", lambda: work_cost.collector(2000 if quick else 4000)),
    ):
        print(f"{time.perf_counter() - began:5.0f} s  {name}", file=sys.stderr, flush=True)
        found[name] = measure()
    found["took_s"] = time.perf_counter() - began
    text = page(found)
    print(text)
    if not quick:
        (HERE / "costs-table.txt").write_text(text)
        (HERE / "costs.json").write_text(json.dumps(rounded(found), indent=1) + "\n")


def machine():
    """The computer, by its kind, and how busy it was."""
    return {
        "processor": platform.machine(),
        "cores": os.cpu_count(),
        "python": platform.python_version(),
        "load_before": os.getloadavg()[0],
    }


def reading(rounds):
    """In us a reading: all of it and the bare loop by turns, the middle of each; then by stage."""
    sent = reading_cost.lines()
    whole, bare = [], []
    for _ in range(rounds):
        with tempfile.TemporaryDirectory() as folder:
            took, snapshot = reading_cost.ours(folder, sent)
            whole.append(took)
            bare.append(reading_cost.bare(folder, sent, snapshot))
    with tempfile.TemporaryDirectory() as folder:
        stages = reading_cost.stages(folder, sent)
    ours_us, bare_us = statistics.median(whole), statistics.median(bare)
    return {
        "us": ours_us,
        "bare_us": bare_us,
        "ratio": ours_us / bare_us,
        "stages_us": stages,
        "readings": len(sent),
        "snapshot_bytes": len(snapshot),
    }


def rounded(found):
    """The same with four digits, so that a new run changes what has changed."""
    if isinstance(found, dict):
        return {name: rounded(one) for name, one in found.items()}
    if isinstance(found, list):
        return [rounded(one) for one in found]
    return float(f"{found:.4g}") if isinstance(found, float) else found


if __name__ == "__main__":
    main()
