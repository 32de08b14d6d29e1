"""`ramphold setup` on the simulated bench: real bytes on ports that have no names yet."""

import os
import signal
import subprocess
import sys
import threading
import tomllib

import pytest

from ramphold.daemon.config import load_bench
from ramphold.errors import PortError
from ramphold.sim import LoadTalker
from ramphold.sim.ports import SimulatedPorts
from ramphold.testing import Terminal
from support.laboratory import until

ADAPTERS = {"load": "usb-Adapter_A1-if00-port0", "balance": "usb-Adapter_B2-if00-port0"}


class BareBench:
    """A computer without adapters."""

    def __init__(self, folder):
        self.folder = folder
        self.config, self.rules = folder / "bench.toml", folder / "rules.d/60-ramphold.rules"

    def arguments(self, *more):
        program = [sys.executable, "-m", "ramphold.cli", "setup", "--config", self.config]
        return [*map(str, (*program, "--rules", self.rules, "--root", self.folder, *more))]

    def answered(self, text, *more):
        """Set up from a file of answers; its exit status and what it told."""
        answers = self.folder / "answers.toml"
        answers.write_text(text.format(folder=self.folder))
        done = subprocess.run(
            self.arguments("--answers", answers, *more), capture_output=True, text=True, check=False
        )
        return done.returncode, done.stdout, done.stderr


class PluggedBench(BareBench):
    """Two instruments at adapters with stable names, and nothing configured."""

    def __init__(self, folder, shape="state-comma"):
        super().__init__(folder)
        self.ports = SimulatedPorts(folder, load=LoadTalker(shape=shape))
        self.ports.balance.put(39.52)
        (folder / "certificates").mkdir()
        by_id = folder / "dev/serial/by-id"
        by_id.mkdir(parents=True)
        for name, adapter in ADAPTERS.items():
            (by_id / adapter).symlink_to(folder / name)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._work)
        self._thread.start()

    def known_to_udev(self):
        """Let udev know the serial numbers, and give the names that rules ask for."""
        data = self.folder / "run/udev/data"
        data.mkdir(parents=True)
        for name, serial in (("load", "A1"), ("balance", "B2")):
            number = (self.folder / name).stat().st_rdev
            file = data / f"c{os.major(number)}:{os.minor(number)}"
            file.write_text(f"S:serial/by-id/x\nE:ID_SERIAL_SHORT={serial}\nE:ID_PATH=pci-{name}\n")

    def port(self, name):
        return str(self.folder / "dev/serial/by-id" / ADAPTERS[name])

    def close(self):
        self._stop.set()
        self._thread.join()
        self.ports.close()

    def _work(self):
        moving = 0
        while not self._stop.wait(0.1):
            moving += 1
            try:
                self.ports.send_load(800.0 + 20 * (moving // 3 % 2))
                self.ports.serve()
            except PortError:  # nobody reads it now
                continue


@pytest.fixture
def bench(tmp_path):
    made = PluggedBench(tmp_path)
    yield made
    made.close()


ANSWERS = """
bench = "press-7"
press.rating = "50000lbf"
load.capacity = "50000lbf"
calibration.folder = "{folder}/certificates"
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/c"
laboratory.name = "North"
"""


def test_without_a_person_the_instruments_are_found_by_their_bytes_and_the_bench_checked(bench):
    status, told, error = bench.answered(ANSWERS)
    assert (status, error) == (0, "")
    config = load_bench(bench.config)
    assert (config.bench, config.laboratory.name) == ("press-7", "North")
    assert (config.load.port, config.load.profile) == (bench.port("load"), "state-comma")
    assert (config.load.baud, config.load.readings_per_s) == (9600, 10.0)
    assert (config.balance.port, config.balance.profile) == (bench.port("balance"), "reply-state")
    assert config.balance.mode == "query"
    assert "now 39.52 g          b'S S     39.520 g'" in told
    assert f"{bench.config} is right: bench press-7" in told
    assert not bench.rules.exists()


NO_PORTS = """\
# Ours since 2020.
bench = "press-7"
press.rating = "50000lbf"
store.path = "{folder}/r"
control.socket = "{folder}/c"
[calibration]
folder = "{folder}"
[load]
kind = "bridge"
capacity = "50000lbf"  # from its plate
[limits]
gap_s = 2.0
"""
LARGER = """
load.capacity = "500000lbf"
[[unusual]]
key = "[load] capacity"
value = "500000 lbf"
reason = "a new sensor"
by = "AB"
"""


def test_used_again_it_keeps_what_it_does_not_ask_and_never_writes_over_unasked(
    tmp_path,
):
    bench = BareBench(tmp_path)
    bench.config.write_text(old := NO_PORTS.format(folder=tmp_path))
    status, told, error = bench.answered(LARGER)
    assert (status, error, bench.config.read_text()) == (1, "", old)
    assert "nothing was written" in told
    status, told, _ = bench.answered(LARGER, "--yes")
    assert '-capacity = "50000lbf"  # from its plate' in told
    assert '+capacity = "500000lbf"  # from its plate' in told
    new = bench.config.read_text()
    assert new.startswith("# Ours since 2020.\n")
    assert tomllib.loads(new)["limits"] == {"gap_s": 2.0}
    assert tomllib.loads(new)["unusual"][0]["reason"] == "a new sensor"
    assert (tmp_path / "bench.toml.before-1").read_text() == old
    # A reason goes with the value that it was given for.
    bench.answered('load.capacity = "60000lbf"', "--yes")
    assert "unusual" not in tomllib.loads(bench.config.read_text())
    assert (tmp_path / "bench.toml.before-2").read_text() == new


@pytest.mark.parametrize(
    ("answers", "told"),
    [
        (
            'bench = "p"\npress.rating = "50000lbf"\nload.kind = "spring"',
            "[load] kind: found 'spring': expected",
        ),
        ('bench = "press/1"', "bench: press/1: expected 1 to 64 letters"),
        ('bench = "p"', "[press] rating is missing"),
        ('bench = "p"\npress.rating = "50000kN"', "[press] rating: 11240447.2 lbf: expected"),
        (
            'bench = "p"\npress.rating = "9000lbf"',
            'key = "[press] rating", value = "9000 lbf", reason, by',
        ),
        ("bench = ", "no valid TOML"),
    ],
)
def test_an_answer_that_cannot_be_right_writes_nothing(tmp_path, answers, told):
    bench = BareBench(tmp_path)
    status, _, error = bench.answered(answers)
    assert (status, bench.config.exists()) == (2, False)
    assert told in error
    assert error.count("\n") == 1


def test_without_a_terminal_and_without_answers_it_says_what_it_needs(tmp_path):
    bench = BareBench(tmp_path)
    done = subprocess.run(
        bench.arguments(), stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert done.stderr == ("ramphold: setup needs a terminal, or the answers with --answers FILE\n")


class Person:
    """Somebody at the terminal, who reads before typing."""

    def __init__(self, bench):
        self.terminal = Terminal(bench.arguments(), columns=140)
        self._read = 0

    @property
    def screen(self):
        raw = b"".join(data for _, data in self.terminal.chunks)
        return raw.decode().replace("\r\n", "\n")

    def reads(self, words):
        """Wait for words that were not read yet."""
        try:
            until(lambda: self.screen.find(words, self._read) >= 0, 30)
        except AssertionError:
            self.terminal.close()
            raise AssertionError(f"not read: {words}\n{self.screen}") from None
        self._read = self.screen.find(words, self._read) + len(words)

    def says(self, words, answer=""):
        self.reads(words)
        self.terminal.press(f"{answer}\n")

    def reaches_the_difference(self, bench):
        self.says("name of the bench", "press/1")
        self.reads("NO: bench: press/1")
        self.says("name of the bench", "press-7")
        self.says("50.8mm [2in]", "50.8in")
        self.reads("NO: [cell] bore: 50.8 in: expected 0.5 to 6 in")
        self.says("cell: bore")
        self.says("cell: rated stress")
        self.says("press: rating", "50000")
        self.reads("NO: ")
        self.says("press: rating", "100000lbf")
        self.reads("can crush the cell, which bears 47124 lbf")
        self.says("or Enter to correct it", "a guard stops it")
        self.says("your initials", "AB")
        self.reads("2  /")
        self.says("indicator, bridge or iio", "spring")
        self.reads("NO: [load] kind: spring: expected indicator, bridge, iio")
        self.says("indicator, bridge or iio")
        self.says("load: its number above", "1")
        self.says("shape of its lines (state-comma)")
        self.reads("now 8")
        self.says("Is that the load?")
        self.says("load: baud")
        self.says("data bits")
        self.says("end of scale", "50000lbf")
        self.says("readings a second [10")
        self.says("Is there a balance? [Y/n]")
        self.says("balance: its number above", "2")
        self.says("shape of its lines (reply-state)")
        self.reads("now 39.52 g")
        self.says("Is that the balance?")
        self.says("edition")
        self.says("folder of the certificates", str(bench.folder / "certificates"))
        self.says("file of the records", str(bench.folder / "runs.sqlite3"))
        self.says("socket of the daemon", str(bench.folder / "c"))


def test_a_person_confirms_every_value_and_mends_what_cannot_be_right(bench):
    bench.known_to_udev()
    person = Person(bench)
    person.reaches_the_difference(bench)
    person.says(f"Name the ports in {bench.rules}?")
    person.reads('+port = "/dev/ramphold-load"')
    person.says("Write this?", "y")
    assert person.terminal.process.wait(60) == 1  # the names come with udev, which is not here
    person.terminal.close()
    config = load_bench(bench.config)
    assert (config.load.port, config.balance.port) == (
        "/dev/ramphold-load", "/dev/ramphold-balance",
    )  # fmt: skip
    assert config.unusual_words == ("[press] rating of 100000 lbf: a guard stops it (AB)",)
    rules = bench.rules.read_text()
    assert 'ATTRS{serial}=="A1", SYMLINK+="ramphold-load"' in rules
    assert 'ATTRS{serial}=="B2", SYMLINK+="ramphold-balance"' in rules


@pytest.mark.parametrize("how", ["interrupted", "killed"])
def test_ended_at_its_last_question_it_leaves_the_old_file_and_nothing_beside_it(tmp_path, how):
    bench = BareBench(tmp_path)
    bench.config.write_text(old := NO_PORTS.format(folder=tmp_path))
    person = Person(bench)
    person.says("such as press-1 [press-7]", "press-8")
    for question in (
        "50.8mm [2in]", "rated stress", "press: rating", "bridge or iio [bridge]", "end of scale",
        "readings a second [80.0]", "Is there a balance? [y/N]", "edition", "certificates",
        "records", "socket",
    ):  # fmt: skip
        person.says(question)
    person.reads('+bench = "press-8"')
    person.reads("Write this? [y/N]")
    if how == "interrupted":
        person.terminal.process.send_signal(signal.SIGINT)
        assert person.terminal.process.wait(20) == 130
    person.terminal.close()
    assert bench.config.read_text() == old
    assert [one.name for one in tmp_path.iterdir()] == ["bench.toml"]
