"""Sets up a simulated bench by `ramphold setup --answers`, without the developers' tools.

    .venv/bin/python tests/fresh/setup_session.py

Two instruments send real bytes on pseudo-terminals that look like adapters. It prints the session;
the exit status is that of `setup`, or 1 if the configuration does not name what was plugged in.
"""

import subprocess
import sys
import tempfile
import threading
import tomllib
from pathlib import Path

from ramphold.errors import PortError
from ramphold.sim.ports import SimulatedPorts

ANSWERS = """
bench = "press-1"
press.rating = "50000lbf"
load.capacity = "50000lbf"
calibration.folder = "{folder}/certificates"
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/control.sock"
"""


def main(folder):
    by_id = folder / "dev/serial/by-id"
    by_id.mkdir(parents=True)
    (folder / "certificates").mkdir()
    stop = threading.Event()
    with SimulatedPorts(folder) as ports:
        ports.balance.put(39.52)
        for name in ("load", "balance"):
            (by_id / f"usb-Adapter_{name}").symlink_to(folder / name)

        def work():
            while not stop.wait(0.1):
                try:
                    ports.send_load(1234.5)
                    ports.serve()
                except PortError:  # nobody reads it now
                    continue

        thread = threading.Thread(target=work)
        thread.start()
        try:
            status = set_up(folder)
        finally:
            stop.set()
            thread.join()
    found = tomllib.loads((folder / "bench.toml").read_text())
    plugged = [
        found[name]["port"] == str(by_id / f"usb-Adapter_{name}") for name in ("load", "balance")
    ]
    return status or (0 if all(plugged) else 1)


def set_up(folder):
    (folder / "answers.toml").write_text(ANSWERS.format(folder=folder))
    return subprocess.run(
        [sys.executable, "-m", "ramphold.cli", "setup", "--config", folder / "bench.toml",
         "--rules", folder / "rules", "--root", folder, "--answers", folder / "answers.toml"],
        check=False,
    ).returncode  # fmt: skip


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        sys.exit(main(Path(name)))
