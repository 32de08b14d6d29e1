"""The wheel alone is the program: nothing of the checkout is needed beside it."""

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    (path,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path_factory.mktemp("dist")))
    return Path(path)


def test_the_wheel_holds_every_file_of_both_packages(wheel):
    held = set(zipfile.ZipFile(wheel).namelist())
    for folder, package in (("logger", "ramphold"), ("tui", "ramphold_tui")):
        source = ROOT / folder
        wanted = {
            str(path.relative_to(source))
            for path in (source / package).rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        }
        assert wanted
        assert wanted - held == set()


def test_what_a_browser_of_tables_shows_is_printed_from_the_wheel(wheel, tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "ramphold.cli", "collect", "--metadata"],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(wheel)},
        capture_output=True,
        check=True,
    )
    assert json.loads(done.stdout)["databases"]["archive"]["queries"]
