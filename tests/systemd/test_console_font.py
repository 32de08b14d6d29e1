"""The console's font: as large as 80 columns and 24 rows leave room for."""

import os
import subprocess
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[2] / "systemd/console-font.sh"


@pytest.fixture
def fonts(tmp_path):
    """Runs the script for a monitor; gives its exit status and the fonts that it tried."""

    def run(pixels, refused=""):
        setfont = tmp_path / "setfont"
        setfont.write_text(f'#!/bin/sh\necho "$@" >>{tmp_path}/tried\n[ "$3" != "{refused}" ]\n')
        setfont.chmod(0o755)
        (tmp_path / "tried").write_text("")
        path = f"{tmp_path}:{os.environ['PATH']}"
        done = subprocess.run(
            ["sh", SCRIPT, "/dev/tty1", pixels], check=False, env={**os.environ, "PATH": path}
        )
        tried = (tmp_path / "tried").read_text().splitlines()
        assert all(line.startswith("-C /dev/tty1 Uni2-") for line in tried)
        return done.returncode, [line.rpartition("-")[2] for line in tried]

    return run


@pytest.mark.parametrize(
    ("pixels", "font"),
    [
        ("3840x2160", "DejaVu59x32"),  # 120x36
        ("1920x1080", "Terminus32x16"),  # 120x33
        ("1280x800", "Terminus32x16"),  # 80x25
        ("1280x720", "Terminus28x14"),  # 91x25
        ("1024x768", "Terminus24x12"),  # 85x32
        ("800x480", "Terminus20x10"),  # 80x24
        ("640x400", "Terminus16"),  # 80x25
    ],
)
def test_the_largest_font_with_room_for_the_screen_is_loaded(fonts, pixels, font):
    assert fonts(pixels) == (0, [font])


def test_a_font_that_the_kernel_refuses_is_followed_by_the_next(fonts):
    assert fonts("3840x2160", "Uni2-DejaVu59x32") == (0, ["DejaVu59x32", "Terminus32x16"])


def test_a_monitor_that_is_too_small_keeps_its_font(fonts):
    assert fonts("480x320") == (1, [])
