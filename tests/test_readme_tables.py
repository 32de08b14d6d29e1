"""README's keys and messages are those of the program."""

import re
from pathlib import Path

import pytest

from support.key_table import README, key_table, written

ROOT = Path(__file__).parents[1]
SOURCES = [path.read_text() for part in ("logger", "tui") for path in (ROOT / part).rglob("*.py")]


def messages():
    text = README.read_text()
    section = text[text.index("### If something goes wrong") :]
    section = section[: section.index("\n### ", 4)]
    return re.findall(r"^\| `(.*?)` \|", section, re.MULTILINE)


def test_the_keys_in_readme_are_those_of_the_screen():
    assert written() == key_table(), "run `make manual`"


def test_there_are_messages_to_look_up():
    assert len(messages()) > 8


def joined(source):
    """The source with strings that are continued on the next line put together."""
    return re.sub(r'"\s*\n\s*f?"', "", source)


@pytest.mark.parametrize("message", messages())
def test_each_message_in_readme_is_one_that_the_program_writes(message):
    parts = [part.strip() for part in message.split("...") if part.strip()]
    assert any(all(part in joined(source) for part in parts) for source in SOURCES)
