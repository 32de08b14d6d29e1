"""What the command line says of itself. Common practice, no source: help is no error."""

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from ramphold.cli import cli
from ramphold.method.daily_check import DAILY_CHECKS
from ramphold.method.wear import Equipment


@pytest.mark.parametrize("group", [(), ("bench",), ("calc",), ("sample",)])
def test_called_without_a_command_it_helps_as_if_asked_to(ramphold, group):
    bare, asked = ramphold(*group), ramphold(*group, "--help")

    assert (bare.status, bare.out, bare.err) == (0, asked.out, "")
    assert "\nCommands:\n" in bare.out


@pytest.mark.parametrize("words", [(), ("calc",), ("calc", "force"), ("watch",)])
def test_h_is_help_everywhere(ramphold, words):
    short, long = ramphold(*words, "-h"), ramphold(*words, "--help")

    assert (short.status, short.err) == (0, "")
    assert short.out == long.out


@pytest.mark.parametrize("group", ["bench", "calc", "export", "sample"])
def test_no_line_of_a_list_of_commands_is_cut_off(ramphold, group):
    listed = ramphold(group, "--help").out.partition("Commands:\n")[2]

    assert listed
    assert "..." not in listed


def test_the_version_is_one_line_and_that_of_the_project(ramphold):
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())["project"]

    assert ramphold("--version").out == f"ramphold, version {project['version']}\n"


def test_a_command_that_there_is_not_is_refused(ramphold):
    ramphold("crush").assert_refused("No such command 'crush'")


def test_the_list_of_commands_is_whole_lines_and_loads_no_command(ramphold):
    lines = ramphold("--help").out.partition("Commands:\n")[2].splitlines()

    assert len(lines) == len(cli.list_commands(None))
    assert all(line.endswith(".") for line in lines)
    program = """
import sys
from ramphold.cli import main
sys.argv = ["ramphold", "--help"]
try:
    main()
except SystemExit:
    print([name for name in sys.modules if "ramphold.c" in name])
"""
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "['ramphold.cli']"


@pytest.mark.parametrize("check", DAILY_CHECKS, ids=lambda one: one.name)
def test_every_declared_check_can_be_made_and_entered(ramphold, check):
    entered, made = (
        " ".join(ramphold("bench", word, "--help").out.split()) for word in ("daily", check.command)
    )
    assert check.name in entered
    assert f"Check {check.about}." in made


def test_every_kind_of_equipment_can_be_checked(ramphold):
    shown = " ".join(ramphold("bench", "equipment", "--help").out.split())
    assert all(kind in shown for kind in Equipment)
