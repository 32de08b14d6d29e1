"""Every command of the guides is executed: on a bench with a day of work in it, or elsewhere."""

import re
import subprocess
import sys
import time

import pytest

from support.guides import GUIDES, ROOT, blocks, of_program

#: What no test can do to this computer, or with nobody at the terminal: where it is done instead.
ELSEWHERE = {
    "sudo sh systemd/install.sh": "tests/fresh/bench-checks.sh",
    "sh systemd/install.sh --upgrade": "tests/fresh/bench-checks.sh",
    "sudo sh systemd/install.sh --uninstall": "tests/fresh/bench-checks.sh",
    "sudo ramphold setup": "tests/system/test_setup_program.py",
    "ramphold practise": "tests/system/test_practise_program.py",
    "ramphold calibrate": "tests/cli/test_calibrate.py",
    "ramphold bench zero": "tests/daemon/test_calibration.py",
    "ramphold bench weight": "tests/cli/test_sample.py",
}
#: The simulated instruments have gone, and there is no server: these say no.
NO = re.compile(r"ramphold (check --config|publish|bench status) ")
#: Of the system itself, and not ours to test.
SYSTEM = re.compile(r"sudo (systemctl|reboot|nano|usermod|apt-get)\b|timedatectl")


def elsewhere(line):
    return next((where for begin, where in ELSEWHERE.items() if line.startswith(begin)), None)


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """A bench with a day's work in it, and a daemon that runs."""
    folder = tmp_path_factory.mktemp("g")
    demo = [sys.executable, "-m", "ramphold.cli", "demo", "--headless", "--speed", "1000"]
    subprocess.run([*demo, "--folder", folder], check=True, capture_output=True)
    daemon = subprocess.Popen(
        [sys.executable, "-m", "ramphold.cli", "daemon", "--config", folder / "bench.toml"],
        stderr=subprocess.DEVNULL,
    )
    for _ in range(300):
        if (folder / "control.sock").exists():
            break
        time.sleep(0.1)
    yield folder
    daemon.terminate()
    daemon.wait(20)


def here(line, folder):
    """A line of a guide, with this bench in the place of the installed one."""
    places = {
        "/etc/ramphold/bench.toml": str(folder / "bench.toml"),
        "/var/lib/ramphold/": f"{folder}/",
        "/var/backups/ramphold": str(folder / "backups"),
    }
    for old, new in places.items():
        line = line.replace(old, new)
    return [sys.executable, "-m", "ramphold.cli", *of_program(line)]


@pytest.mark.parametrize("guide", GUIDES, ids=lambda one: one.stem)
def test_every_command_of_a_guide_is_executed_here_or_where_it_can_be(guide, bench):
    for line in blocks(guide.read_text()):
        if SYSTEM.match(line):
            continue
        if (where := elsewhere(line)) is not None:
            tested = (ROOT / where).read_text()
            assert line.split()[-1].lstrip("-") in tested or line.split()[2] in tested, line
            continue
        done = subprocess.run(
            here(line, bench), cwd=bench, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0 or NO.search(line), (line, done.stderr)
        assert done.stdout, line
        assert "Traceback" not in done.stderr
