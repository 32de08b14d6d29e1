"""Systemd's own checker of units."""

import shutil
import subprocess

import pytest

from support.broker import missing

__all__ = ["analyze"]


def analyze(*arguments):
    """Exit status and output of `systemd-analyze`; skip the test if it can't work.

    It needs no running systemd. But version 257 needs systemd's folder under /run, which only root
    can make if systemd does not run. So mark these tests `root`.
    """
    if not shutil.which("systemd-analyze"):
        missing("systemd")
    done = subprocess.run(
        ["systemd-analyze", *map(str, arguments)], check=False, capture_output=True, text=True
    )
    said = done.stdout + done.stderr
    if "/run/systemd/" in said and "Permission denied" in said:
        pytest.skip("only root may use systemd-analyze where systemd does not run")
    return done.returncode, said
