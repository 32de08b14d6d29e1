"""Systemd's own checker of units."""

import configparser
import shutil
import subprocess

import pytest

from support.broker import missing

__all__ = ["analyze", "sections"]


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


def sections(unit):
    """The settings of a unit's file, by section."""
    parser = configparser.ConfigParser(interpolation=None, strict=False)
    parser.optionxform = str
    parser.read_string(unit.read_text())
    return {name: dict(parser[name]) for name in parser.sections()}
