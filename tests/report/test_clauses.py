"""The table of ISO/IEC 17025:2017 clauses in DEVELOPERS.md and the report hold each other."""

import re
from pathlib import Path

import pytest
from tests.report.test_document import text

_DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"
_ROW = re.compile(r"^\| (7\.8[^|]*) \|([^|]*)\|([^|]*)\|$", re.MULTILINE)

#: Every point of these clauses: ISO/IEC 17025:2017, from memory.
ASKED = (
    *(f"7.8.2.1 {letter}" for letter in "abcdefghijklmnop"),
    "7.8.2.2",
    *(f"7.8.3.1 {letter}" for letter in "abcde"),
    "7.8.6.1", "7.8.6.2 a", "7.8.6.2 b", "7.8.6.2 c",
)  # fmt: skip


def rows():
    part = _DEVELOPERS.read_text().split("<!-- report clauses -->")[1]
    return {clause: where for clause, _, where in _ROW.findall(part)}


def test_every_point_of_the_clauses_has_a_row():
    assert sorted(rows()) == sorted(ASKED)


@pytest.mark.parametrize("clause", ASKED)
def test_what_a_row_names_stands_in_the_report(found, clause):
    named = re.findall(r"`([^`]+)`", rows()[clause])
    assert named, "the row names no words of the report"
    said = text(found) + "\nPage 1 of "
    for words in named:
        assert words in said
