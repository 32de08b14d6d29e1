"""The guides: reachable from README, their messages the program's own, every command executed."""

import re

import click
import pytest

from ramphold.cli import cli
from ramphold_tui.view.keys import KEYS
from support.guides import GUIDES, ROOT, calls

README = (ROOT / "README.md").read_text()
TEXTS = {"README.md": README} | {f"guides/{one.name}": one.read_text() for one in GUIDES}
SOURCES = [
    *(path.read_text() for part in ("logger", "tui") for path in (ROOT / part).rglob("*.py")),
    (ROOT / "systemd/install.sh").read_text(),
]


def headings(text):
    """The anchors of a page, as they are made of its headings."""
    found = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w -]", "", one.lower()).replace(" ", "-") for one in found}


@pytest.mark.parametrize("guide", GUIDES, ids=lambda one: one.stem)
def test_every_guide_is_in_readmes_contents(guide):
    assert f"](guides/{guide.name})" in README.partition("### Contents")[2].partition("\n### ")[0]


@pytest.mark.parametrize("name", TEXTS)
def test_every_link_leads_somewhere(name):
    for target in re.findall(r"\]\(([^)]+)\)", TEXTS[name]):
        path, _, anchor = target.partition("#")
        if "://" in path:
            continue
        page = (ROOT / name).parent / path if path else ROOT / name
        assert page.exists(), target
        if anchor:
            assert anchor in headings(page.read_text()), target


def messages():
    rows = re.findall(r"^\| .*? \| (.+?) \|", TEXTS["guides/troubleshooting.md"], re.MULTILINE)
    return [match[1] for row in rows if (match := re.fullmatch(r"`([^`]+)`", row))]


def joined(source):
    """The source with strings that are continued on the next line put together."""
    return re.sub(r'"\s*\n\s*f?"', "", source)


def test_there_are_symptoms_to_look_up():
    assert len(messages()) > 20


@pytest.mark.parametrize("message", messages())
def test_each_message_of_the_guide_is_one_that_the_program_writes(message):
    parts = [part.strip() for part in message.split("...") if part.strip()]
    assert any(all(part in joined(source) for part in parts) for source in SOURCES)


@pytest.mark.parametrize("name", TEXTS)
def test_every_command_in_the_text_exists_with_its_options(name):
    for words in calls(TEXTS[name]):
        command, rest = cli, list(words)
        while isinstance(command, click.Group) and rest and not rest[0].startswith("-"):
            chosen = command.get_command(click.Context(command), rest.pop(0))
            assert chosen is not None, words
            command = chosen
        known = {flag for one in command.params for flag in (*one.opts, *one.secondary_opts)}
        known |= {"-h", "--help", "--version"}
        used = {word for word in rest if re.match(r"--[a-z]", word)}
        assert used - known == set(), words


def test_there_are_commands_in_the_texts():
    assert sum(len(calls(text)) for text in TEXTS.values()) > 60


def test_the_technicians_keys_are_those_of_the_screen():
    known = {part for key in KEYS for part in key.name.split()}
    named = set(re.findall(r"`([A-Z?]|F\d)`", TEXTS["guides/technician.md"]))
    assert len(named) > 3
    assert named <= known
