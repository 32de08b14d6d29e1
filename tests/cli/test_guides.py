"""The guides: every command in them is one, and those that need nobody's hand are run at a bench.

A simulated bench with one crushed specimen stands for the press, in a thread of its own.
"""

import asyncio
import re
import shlex
import shutil
import threading
from pathlib import Path

import click
import pytest

from ramphold.cli import cli
from ramphold.demo import SimulatedBench, crush_one_specimen
from ramphold_tui.view.keys import KEYS

ROOT = Path(__file__).parents[2]
GUIDES = sorted((ROOT / "guides").glob("*.md"))
PAGES = [ROOT / "README.md", *GUIDES, ROOT / "hardware/README.md"]
#: These wait for a person, go on until they are stopped, or need an issued report.
#: Other tests run them.
BY_HAND = {"demo", "practise", "calibrate --config", "collect", "verify"}
#: Programs of the system, which a test does not run: they change the computer.
OF_SYSTEM = {"sudo nano", "sudo reboot", "sudo systemctl"}


def blocks(page):
    """The lines of the indented blocks."""
    return [
        line.strip().removeprefix("$ ")
        for line in page.read_text(encoding="utf-8").splitlines()
        if re.match(r" {4,}(\$ )?(ramphold|sudo|sh|make) ", line)
    ]


def commands(page):
    """Every command of the program, in blocks and in the text."""
    text = page.read_text(encoding="utf-8")
    spans = re.findall(r"`(ramphold [^`]+)`", re.sub(r"\s*\n\s*", " ", text))
    lines = [line for line in blocks(page) if line.startswith("ramphold ")]
    return sorted({*lines, *spans})


ALL = sorted({line for page in PAGES for line in commands(page)})
LIVE = [
    (page.stem, line)
    for page in GUIDES
    for line in commands(page)
    if not any(line.startswith(f"ramphold {one}") for one in BY_HAND)
]


def test_there_are_guides_for_three_readers_which_readme_names():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert [page.stem for page in GUIDES] == ["it", "metrologist", "technician"]
    for page in GUIDES:
        assert f"(guides/{page.name})" in readme
        assert "README.md" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize("line", ALL)
def test_every_command_of_readme_and_guides_is_a_command_with_these_options(line):
    words = shlex.split(line.replace("…", "").partition(" | ")[0])[1:]
    at, context = cli, click.Context(cli, info_name="ramphold")
    while isinstance(at, click.Group) and words and not words[0].startswith("-"):
        name = words.pop(0)
        found = at.get_command(context, name)
        assert found is not None, f"{name!r} is no command"
        at, context = found, click.Context(found, info_name=name, parent=context)
    options = {text for one in at.params for text in (*one.opts, *one.secondary_opts)}
    assert {word.partition("=")[0] for word in words if word.startswith("--")} <= options


@pytest.mark.parametrize("page", GUIDES, ids=lambda page: page.stem)
def test_what_a_guide_asks_of_the_system_is_there(page):
    options = (ROOT / "systemd/install.sh").read_text(encoding="utf-8")
    targets = (ROOT / "Makefile").read_text(encoding="utf-8")
    for line in blocks(page):
        if line.startswith("make "):
            assert f"\n{line.split()[1]}:" in targets
        elif "install.sh" in line:
            assert all(option in options for option in re.findall("--[a-z-]+", line))
        elif not line.startswith("ramphold "):
            assert " ".join(line.split()[:2]) in OF_SYSTEM


def test_the_technicians_keys_are_those_of_the_screen():
    guide = (ROOT / "guides/technician.md").read_text(encoding="utf-8")
    known = {part for key in KEYS for part in key.name.split()}
    named = set(re.findall(r"`([A-Z?]|F\d)`", guide))
    assert len(named) > 8
    assert named <= known


@pytest.mark.parametrize("page", GUIDES, ids=lambda page: page.stem)
def test_the_links_of_a_guide_lead_somewhere(page):
    for target in re.findall(r"\]\(([^)]+)\)", page.read_text(encoding="utf-8")):
        name, _, anchor = target.partition("#")
        text = (
            (page.parent / name).resolve().joinpath("README.md" if name.endswith("broker") else "")
        )
        assert text.exists()
        if anchor:
            headings = re.findall(r"^#+ (.+)$", text.read_text(encoding="utf-8"), re.MULTILINE)
            assert anchor in {
                re.sub("[^a-z -]", "", one.lower()).replace(" ", "-") for one in headings
            }


class Bench:
    """A simulated bench after one specimen, which goes on until it is stopped."""

    def __init__(self, folder):
        self._folder, self._up, self._stop = folder, threading.Event(), threading.Event()
        self._thread = threading.Thread(target=lambda: asyncio.run(self._live()))
        self._thread.start()
        assert self._up.wait(60)

    def stop(self):
        self._stop.set()
        self._thread.join()

    async def _live(self):
        async with SimulatedBench(self._folder, seed=1, speed=None) as bench:
            await crush_one_specimen(bench, 1, lambda _: None)
            await bench.weigh(100.0)
            self._up.set()
            while not self._stop.is_set():
                await bench.pass_time(0.1)
                await asyncio.sleep(0)


@pytest.fixture
def bench(tmp_path):
    """A folder with the bench's files, and what a reader has before he starts.

    That is a folder for copies, another computer, and the readings at known forces.
    """
    for name in ("press", "copies", "other"):
        (tmp_path / name).mkdir()
    rows = [f"{run},{force},{2 * force}" for run in (1, 2, 3) for force in range(0, 50_001, 5000)]
    (tmp_path / "points.csv").write_text("\n".join(["run,force,reading", *rows]))
    running = Bench(tmp_path / "press")
    try:
        text = (tmp_path / "press/bench.toml").read_text()
        other = text.replace(str(tmp_path / "press"), str(tmp_path / "other"))
        (tmp_path / "other/bench.toml").write_text(other)
        shutil.copytree(tmp_path / "press/calibration", tmp_path / "other/calibration")
        yield tmp_path
    finally:
        running.stop()


def here(line, folder):
    """A guide's command with the names of this bench's files."""
    press, other = folder / "press", folder / "other"
    for word, name in {
        "restore COPY.sqlite3 --config /etc/ramphold": f"restore COPY.sqlite3 --config {other}",
        "/etc/ramphold/bench.toml": press / "bench.toml",
        "/var/lib/ramphold/runs.sqlite3": press / "runs.sqlite3",
        "/var/backups/ramphold": folder / "copies",
        "COPY.sqlite3": next(iter(sorted(folder.glob("copies/*.sqlite3"))), "missing"),
        "SAMPLE": "DEMO-1",
        "points.csv": folder / "points.csv",
        "--out reports": f"--out {folder}/reports",
        "tests/data": ROOT / "tests/data",
    }.items():
        line = line.replace(word, str(name))
    return shlex.split(line)[1:]


#: The answer is no, exit status 1: no known force is on the cell, but the load of a crushed bed.
NO = ("ramphold bench span", "ramphold bench zero")


@pytest.mark.slow
def test_what_the_guides_say_is_done_at_a_bench(ramphold, bench):
    # A copy has to be made before it is restored.
    for _, line in sorted(LIVE, key=lambda one: ("restore" in one[1], one)):
        outcome = ramphold(*here(line, bench))
        assert outcome.status == int(line.startswith(NO)), (line, outcome)
        assert outcome.out
    assert [one.name for one in (bench / "reports").glob("*.pdf")]
    assert (bench / "other/runs.sqlite3").exists()
