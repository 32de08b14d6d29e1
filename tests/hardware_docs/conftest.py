"""The hardware folder and the tables of its pages."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def hardware() -> Path:
    return ROOT / "hardware"


@pytest.fixture(scope="session")
def readme(hardware: Path) -> str:
    return (hardware / "README.md").read_text()


@pytest.fixture(scope="session")
def table_under():
    """The cells of the table with this header row, row by row."""

    def rows(text: str, *header: str) -> list[list[str]]:
        head = "| " + " | ".join(header) + " |\n"
        assert text.count(head) == 1, f"one table headed {header}"
        body = text.split(head)[1].split("\n\n", maxsplit=1)[0].splitlines()[1:]
        return [[cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]] for line in body]

    return rows
