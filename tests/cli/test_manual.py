"""The manual page and the completion of a shell: both come from the commands themselves."""

import os
import shutil
import subprocess
import sys

import pytest

from ramphold.cli import cli
from support.manual import PATH, manual


def test_the_manual_page_is_that_of_the_commands():
    assert PATH.read_text() == manual(), "run `make manual`"


def test_the_manual_page_names_every_command_and_the_cautions():
    text = PATH.read_text()
    for name in cli.list_commands(None):
        assert f".SS ramphold {name}" in text
    assert "no load limiter" in text


@pytest.mark.skipif(shutil.which("groff") is None, reason="groff is not installed")
def test_the_manual_page_is_read_without_a_warning():
    command = ["groff", "-man", "-Tascii", "-ww", "-z", str(PATH)]
    done = subprocess.run(command, capture_output=True, check=True)
    assert done.stderr == b""


def completed(words, shell="bash", **more):
    env = {
        **os.environ,
        "_RAMPHOLD_COMPLETE": f"{shell}_complete",
        "COMP_WORDS": words,
        "COMP_CWORD": str(len(words.split(" ")) - 1),
        **more,
    }
    program = "import sys; sys.argv = ['ramphold']; from ramphold.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", program], env=env, capture_output=True, text=True, check=False
    )
    return done.stdout.split()


def test_a_shell_completes_commands_and_options():
    assert completed("ramphold rep") == ["plain,replay", "plain,report"]
    assert completed("ramphold demo --sp") == ["plain,--speed"]
    assert completed("ramphold sample rev") == ["plain,review"]
    assert completed("ramphold rep", "fish", COMP_CWORD="rep")[0] == "plain,replay"


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_its_script(shell):
    if shell == "bash" and shutil.which("bash") is None:
        pytest.skip("bash is not installed")
    program = "import sys; sys.argv = ['ramphold']; from ramphold.cli import main; main()"
    env = {**os.environ, "_RAMPHOLD_COMPLETE": f"{shell}_source"}
    done = subprocess.run(
        [sys.executable, "-c", program], env=env, capture_output=True, text=True, check=False
    )
    assert f"_RAMPHOLD_COMPLETE={shell}_complete" in done.stdout
