"""The demo as a program of its own, beside others."""

import subprocess
import sys


def test_a_reader_that_leaves_ends_the_demo_without_a_word():
    command = [sys.executable, "-m", "ramphold.cli", "demo", "--headless", "--speed", "60"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as demo:
        assert demo.stdout.readline().startswith(b"specimen")
        demo.stdout.close()
        assert demo.stderr.read() == b""
        assert demo.wait(30) in {0, 1}  # click's own status, where it is the first to notice
