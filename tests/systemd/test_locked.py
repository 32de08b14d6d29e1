"""The libraries of a bench: each of them named, each file by its hash."""

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
PDF, PI = (PROJECT["optional-dependencies"][name] for name in ("pdf", "pi"))


def locked(name):
    """Each library of a list, its version, and the number of its files."""
    text = (ROOT / "systemd" / name).read_text().replace("\\\n", "")
    found = {}
    for line in re.sub(r" ; [^\\\n]*!= 'PyPy'", "", text).splitlines():
        entry = re.fullmatch(r"([a-z0-9-]+)==(\S+)((?: +--hash=sha256:[0-9a-f]{64})+) *", line)
        # So one list serves every Python, and no place to fetch it from is named.
        assert entry, line
        found[entry[1]] = (entry[2], entry[3].count("--hash"))
    return found


@pytest.mark.parametrize(
    ("name", "wanted"),
    [("locked.txt", [*PROJECT["dependencies"], *PDF]), ("locked-gpio.txt", PI)],
)
def test_the_list_holds_every_library_in_a_version_that_the_program_accepts(name, wanted):
    found = locked(name)
    assert all(files for _, files in found.values())
    for one in map(Requirement, wanted):
        version, _ = found[canonicalize_name(one.name)]
        assert one.specifier.contains(version), one


def test_the_list_holds_the_pip_that_installs_from_a_stick():
    assert "pip" in locked("locked.txt")
