"""A recorded transcript reads back as the bytes that passed."""

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import MassState
from ramphold.wire import MassFrame, load_decoder, load_profile, transcript
from ramphold.wire._transcript import frame_text


def written(*parts):
    return transcript(
        parts,
        load_decoder(load_profile("state-comma")).feed,
        title="A load",
        shape="state and number",
        profile="state-comma",
        unit="",
        rate="9600 8N1",
        date=dt.date(2026, 11, 25),
    )


def test_the_header_stands_first_and_frames_stand_under_the_bytes_that_complete_them():
    text = written((">", b"P\r\n"), ("<", b"ST,GS,+ 0"), ("<", b"12.5 kN\r\n\xfe\\\r"))
    assert text.splitlines() == [
        "# A load",
        "# wire shape: state and number",
        "# profile: state-comma",
        "# rate: 9600 8N1",
        "# date: 2026-11-25",
        "# origin: recorded",
        "",
        r"> P\r\n",
        "< ST,GS,+ 0",
        r"< 12.5 kN\r\n\xfe\\\r",
        "= good 12.5 kN",
        "= garbled",
    ]


def test_an_empty_pan_shows_its_zero_and_an_overload_without_digits_shows_none():
    empty = MassFrame(state=MassState.STABLE, mass_g=0.0, digits=0, exponent=-2, unit="g", line=b"")
    over = MassFrame(state=MassState.OVERLOAD, unit="g", line=b"")
    assert frame_text(empty) == "stable 0.00 g (0 g)"
    assert frame_text(over) == "overload"


@given(st.lists(st.binary(min_size=1, max_size=40), max_size=5))
def test_any_bytes_come_back_from_their_text(parts):
    text = written(*(("<", part) for part in parts))
    assert text.isascii()
    came = [line[2:] for line in text.splitlines() if line.startswith("<")]
    # Python's own escapes, as firmware-notes tells them.
    assert [one.encode().decode("unicode_escape").encode("latin-1") for one in came] == parts


def test_the_unit_of_values_without_one_stands_in_the_header():
    text = transcript(
        [("<", b"12.5\r\n")], load_decoder(load_profile("mark-while-moving")).feed, title="A load",
        shape="number", profile="mark-while-moving", unit="kN", rate="9600 8N1",
        date=dt.date(2026, 11, 25),
    )  # fmt: skip
    assert text.splitlines()[2:5] == [
        "# profile: mark-while-moving",
        "# unit: kN",
        "# rate: 9600 8N1",
    ]
