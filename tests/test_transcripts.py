"""Transcripts decode to the frames beside them, and notes and transcripts cite each other.

In a transcript `>` are bytes sent to the instrument, `<` bytes that came from it, and `=` the
frames that the bytes above complete.
"""

import re
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

import pytest

from ramphold.core import MassState, Quality
from ramphold.wire import (
    LOAD_PROFILES,
    MASS_PROFILES,
    load_decoder,
    load_profile,
    mass_decoder,
    mass_profile,
)

ROOT = Path(__file__).parent.parent
TRANSCRIPTS = sorted((ROOT / "tests/transcripts").glob("*/*.txt"))
NOTES = {
    kind: ROOT / "firmware-notes" / f"{kind}.md"
    for kind in {path.parent.name for path in TRANSCRIPTS}
}
ORIGINS = ("recorded", "composed from wire facts")
CITED = re.compile(r"tests/transcripts/([\w-]+/[\w-]+\.txt)")


@dataclass
class Step:
    """Bytes that came, and the frames that they complete."""

    came: bytes
    frames: list[str] = field(default_factory=list)


@dataclass
class Transcript:
    header: dict[str, str]
    steps: list[Step]


def transcript(path):
    header, steps = {}, []
    for line in path.read_text().splitlines():
        mark, _, rest = line.partition(" ")
        if mark == "#":
            key, _, value = rest.partition(": ")
            header[key] = value
        elif mark == "<":
            came = rest.encode("ascii").decode("unicode_escape").encode("latin-1")
            steps.append(Step(came))
        elif mark == "=":
            steps[-1].frames.append(rest)
        else:
            assert mark in ("", ">"), f"{path.name}: {line!r}"
    return Transcript(header, steps)


def load_text(frame):
    printed = Decimal(frame.raw).scaleb(frame.exponent)
    if frame.quality is Quality.GARBLED:
        return "garbled"
    return f"{frame.quality} {printed} {frame.unit}".rstrip()


def mass_text(frame):
    text = str(frame.state)
    if frame.unit and (frame.digits or frame.mass_g is not None):
        text += f" {Decimal(frame.digits).scaleb(frame.exponent)} {frame.unit}"
    return text if frame.mass_g is None else f"{text} ({frame.mass_g:.10g} g)"


KINDS = {
    "load-indicator": (lambda *row: load_decoder(load_profile(*row)), load_text),
    "balance": (lambda *row: mass_decoder(mass_profile(*row)), mass_text),
}


def row(script):
    """The profile that decodes it, and the unit of values that come without one."""
    return script.header["profile"], script.header.get("unit", "")


def named(path):
    return f"{path.parent.name}/{path.name}"


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=named)
def test_a_transcript_decodes_to_the_frames_written_beside_its_bytes(path):
    make_decoder, text = KINDS[path.parent.name]
    script = transcript(path)
    decoder = make_decoder(*row(script))
    assert [[text(frame) for frame in decoder.feed(step.came)] for step in script.steps] == [
        step.frames for step in script.steps
    ]


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=named)
def test_a_transcript_decodes_alike_byte_by_byte_and_at_once(path):
    make_decoder, text = KINDS[path.parent.name]
    script = transcript(path)
    stream = b"".join(step.came for step in script.steps)
    expected = [frame for step in script.steps for frame in step.frames]
    at_once = make_decoder(*row(script)).feed(stream)
    decoder = make_decoder(*row(script))
    by_byte = [frame for byte in stream for frame in decoder.feed(bytes([byte]))]
    assert [text(frame) for frame in at_once] == expected
    assert by_byte == at_once


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=named)
def test_a_transcript_says_its_shape_rate_date_and_origin(path):
    header = transcript(path).header
    assert header["wire shape"]
    assert header["rate"]
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", header["date"])
    assert header["origin"] in ORIGINS


def test_every_transcript_is_cited_by_the_note_of_its_kind():
    for path in TRANSCRIPTS:
        assert named(path) in CITED.findall(NOTES[path.parent.name].read_text())


def test_every_transcript_that_a_note_cites_exists():
    known = {named(path) for path in TRANSCRIPTS}
    for note in (ROOT / "firmware-notes").glob("*.md"):
        assert set(CITED.findall(note.read_text())) <= known, note.name


@pytest.mark.parametrize(
    ("kind", "profiles", "garbled"),
    [
        ("load-indicator", LOAD_PROFILES, Quality.GARBLED),
        ("balance", MASS_PROFILES, MassState.GARBLED),
    ],
)
def test_whatever_a_profile_can_say_is_in_a_transcript(kind, profiles, garbled):
    shown = [
        frame
        for path in TRANSCRIPTS
        if path.parent.name == kind
        for step in transcript(path).steps
        for frame in step.frames
    ]
    words = {garbled}
    for profile in profiles.values():
        words |= {*profile.states.values(), *profile.words.values()}
    assert [word for word in words if not any(frame.startswith(word) for frame in shown)] == []


@pytest.mark.parametrize(
    ("kind", "name"),
    [*(("load-indicator", n) for n in LOAD_PROFILES), *(("balance", n) for n in MASS_PROFILES)],
)
def test_every_profile_has_a_section_in_the_note_of_its_kind(kind, name):
    assert f"## Profile `{name}`" in NOTES[kind].read_text()


def test_every_profile_has_a_transcript():
    shown = {(path.parent.name, transcript(path).header["profile"]) for path in TRANSCRIPTS}
    assert shown == {
        *(("load-indicator", name) for name in LOAD_PROFILES),
        *(("balance", name) for name in MASS_PROFILES),
    }
