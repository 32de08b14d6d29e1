"""What is public is documented, and the README's examples print what it says."""

import re
import subprocess
import sys
import typing
from pathlib import Path

import pytest

from ramphold.browse.config import BrowseConfig
from ramphold.cli import cli
from ramphold.collector.config import CollectConfig
from ramphold.control.methods import METHODS, TOPICS
from ramphold.daemon.config import BenchConfig
from support import method_tables

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
EXAMPLES = re.findall(
    r"^    \$ (ramphold .*)\n((?:    .*\n|\n(?=    [^$]))*)", README, re.MULTILINE
)


def printed(command):
    done = subprocess.run(
        [sys.executable, "-m", "ramphold.cli", *command.split()[1:]],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    return "".join(f"    {line}".rstrip() + "\n" for line in done.stdout.splitlines())


@pytest.mark.parametrize(("command", "shown"), EXAMPLES, ids=[one[0] for one in EXAMPLES])
def test_an_example_of_the_readme_prints_what_it_shows(command, shown):
    assert printed(command).strip() == re.sub(r"^ *$", "", shown, flags=re.MULTILINE).strip()


def test_the_readme_has_examples():
    assert len(EXAMPLES) >= 5


def test_the_demo_prints_what_the_readme_shows_but_for_its_figures():
    # Figures and cues may differ in the last place between machines: what is told must not.
    shown = README.partition("opens the screen):\n\n")[2].partition("\n## ")[0]
    assert told(printed("ramphold demo --headless --speed 1000")) == told(shown)


def told(text):
    lines = [line for line in text.splitlines() if "psi   " not in line]
    return re.findall(r"[a-z/]{3,}", "\n".join(lines))


@pytest.mark.parametrize("name", list(cli.list_commands(None)))
def test_every_command_is_in_the_readme(name):
    assert f"ramphold {name}" in README


@pytest.mark.parametrize("name", [*METHODS, *TOPICS])
def test_every_method_and_topic_is_in_developers(name):
    assert f"`{name}`" in DEVELOPERS


def test_the_tables_of_methods_and_topics_are_as_declared():
    assert method_tables.written(DEVELOPERS) == DEVELOPERS, "run `make tables`"


def keys(section):
    for field in section.__struct_fields__:
        yield field
        kind = typing.get_type_hints(section)[field]
        for one in (kind, *typing.get_args(kind)):
            yield from keys(one) if hasattr(one, "__struct_fields__") else ()


CONFIGS = BenchConfig, CollectConfig, BrowseConfig


@pytest.mark.parametrize("key", sorted({key for one in CONFIGS for key in keys(one)}))
def test_every_key_of_the_configuration_is_in_the_readme(key):
    assert re.search(rf"`(\[\w+\] )?{key}`|\[{key}\]", README)


def test_the_usual_cautions_are_in_the_readme():
    for word in ("no guard", "Ejected parts", "Oil injection", "Silica dust", "local rules"):
        assert word in README
