"""The wheel alone is the program: nothing of the checkout is needed beside it."""

import configparser
import email
import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
import trove_classifiers
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


def test_the_wheel_holds_what_the_programs_computers_need_beside_it(wheel):
    data = "ramphold-0.1.0.data/data/share/ramphold/"
    with zipfile.ZipFile(wheel) as archive:
        held = {
            name.removeprefix(data): archive.read(name)
            for name in archive.namelist()
            if name.startswith(data)
        }
    wanted = [path for path in (ROOT / "systemd").rglob("*") if path.is_file()]
    wanted += [
        ROOT / "hardware" / name
        for name in ("60-ramphold.rules", "ramphold-bridge.dts", "calibration/example.toml")
    ]
    assert held == {str(path.relative_to(ROOT)): path.read_bytes() for path in wanted}


def test_the_wheels_description_names_only_what_exists(wheel):
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (one for one in archive.namelist() if one.endswith(".dist-info/METADATA"))
        about = email.message_from_bytes(archive.read(name))
    assert about["Requires-Python"] == ">=3.11"
    assert about.get_all("Project-URL") is None  # the project has no address yet
    assert about["Home-page"] is None
    assert about["Keywords"]
    assert set(about.get_all("Classifier")) <= trove_classifiers.classifiers
    assert set(about.get_all("Provides-Extra")) == {"browse", "dev", "pdf", "pi", "postgres"}


def test_datasette_finds_the_laboratorys_page_in_the_wheel(wheel):
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (one for one in archive.namelist() if one.endswith("entry_points.txt"))
        points = configparser.ConfigParser()
        points.read_string(archive.read(name).decode())
        held = set(archive.namelist())
    assert dict(points["datasette"]) == {"ramphold": "ramphold.browse"}
    assert {
        "ramphold/browse/templates/laboratory/base.html",
        "ramphold/browse/static/page.css",
    } <= held


def test_what_a_browser_of_tables_shows_is_printed_from_the_wheel(wheel, tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "ramphold.cli", "collect", "--metadata"],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(wheel)},
        capture_output=True,
        check=True,
    )
    assert json.loads(done.stdout)["databases"]["archive"]["queries"]
