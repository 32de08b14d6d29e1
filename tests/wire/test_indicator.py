import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import Quality
from ramphold.errors import ConfigError
from ramphold.wire import LoadFrame, load_decoder

LINE = b"ST,GS,+ 012566.4 lbf\r\n"


def decode(data):
    return load_decoder("state-comma").feed(data)


def one(line):
    (frame,) = decode(line + b"\r\n")
    return frame


# Bytes of the shape: common practice, no source.
@pytest.mark.parametrize(
    ("line", "quality", "raw", "exponent", "unit"),
    [
        (b"ST,GS,+ 012566.4 lbf", Quality.GOOD, 125664, -1, "lbf"),
        (b"ST,GS, 00254.80 kg", Quality.GOOD, 25480, -2, "kgf"),
        (b"US,NT,-0000.012 kN", Quality.UNSTEADY, -12, -3, "kN"),
        (b"ST,+0055898  N", Quality.GOOD, 55898, 0, "N"),
        (b"US,TR,+  12570 lb", Quality.UNSTEADY, 12570, 0, "lbf"),
        (b"ST,GS,+ 5700,5 KGF", Quality.GOOD, 57005, -1, "kgf"),
        (b"ST,GS,+12570LBF", Quality.GOOD, 12570, 0, "lbf"),
        (b"\0\0 ST,GS,- 3.0 lbf ", Quality.GOOD, -30, -1, "lbf"),
        (b"OL,GS,+ 999999.9 lbf", Quality.SATURATED, 9999999, -1, "lbf"),
    ],
)
def test_a_printed_force_keeps_its_digits_its_places_and_its_unit(
    line, quality, raw, exponent, unit
):
    assert one(line) == LoadFrame(quality=quality, raw=raw, exponent=exponent, unit=unit)


@pytest.mark.parametrize(
    ("line", "quality"),
    [
        (b"OL,GS,  -------- lbf", Quality.SATURATED),
        (b"OL,GS,           lbf", Quality.SATURATED),
        (b"UL,GS,  -------- lbf", Quality.UNDER_RANGE),
        (b"ST,GS,OL", Quality.SATURATED),
        (b"ST,GS, UL lbf", Quality.UNDER_RANGE),
        (b"ST,GS, Err", Quality.FAULT),
        (b"US,GS,  ------.- lbf", Quality.NOT_READY),
        (b"--------", Quality.NOT_READY),
        (b"OL", Quality.SATURATED),
        (b"UL", Quality.UNDER_RANGE),
        (b"H", Quality.SATURATED),
        (b"L", Quality.UNDER_RANGE),
        (b"Err", Quality.FAULT),
        (b"+", Quality.SATURATED),
        (b"-", Quality.UNDER_RANGE),
    ],
)
def test_a_word_or_dashes_are_a_state_and_carry_no_number(line, quality):
    frame = one(line)
    assert frame.quality is quality
    assert not frame.numbered
    assert frame.raw == 0


@pytest.mark.parametrize(
    "line",
    [
        b"ST,GS,+ 012566.4",  # no unit
        b"ST,GS,+ 012566.4 psi",  # a unit of another quantity
        b"T,GS,+ 012566.4 lbf",  # its first byte lost
        b"ST,GS,+ 0125",  # its end lost
        b"ST,GS,+ 0125ST,GS,+ 012566.4 lbf",  # two lines run together
        b"ST,GS,+ 12.56.4 lbf",
        b"ST,GS,+ 1e4 lbf",
        b"QX,GS,+ 012566.4 lbf",
        b"\xd3\xd4,GS,+ 012566.4 lbf",  # seven bits and parity, read as eight
        b"\xff\xfe\x01",
        b"ST,GS,+ 9999999999999999 lbf",  # more digits than a number can hold
    ],
)
def test_a_line_that_does_not_keep_to_the_shape_is_garbled_and_keeps_its_bytes(line):
    assert one(line) == LoadFrame(quality=Quality.GARBLED, line=line)


def test_an_overlong_line_is_one_garbled_frame():
    frames = decode(b"9" * 5000 + b"\r\n" + LINE)
    assert [frame.quality for frame in frames] == [Quality.GARBLED, Quality.GOOD]


def test_a_line_of_padding_alone_says_nothing():
    assert decode(b"\0\0\0\r\n   \r\n") == []


def test_an_unknown_profile_is_refused_with_the_known_ones():
    with pytest.raises(
        ConfigError, match=r"unknown line profile 'stx': expected one of state-comma"
    ):
        load_decoder("stx")


@given(st.lists(st.one_of(st.just(LINE), st.binary(max_size=40)), max_size=8), st.data())
def test_any_cutting_of_the_same_bytes_gives_the_same_frames(parts, data):
    stream = b"".join(parts)
    decoder = load_decoder("state-comma")
    frames, rest = [], stream
    while rest:
        size = data.draw(st.integers(1, len(rest)))
        frames += decoder.feed(rest[:size])
        rest = rest[size:]
    assert frames == decode(stream)


@given(st.binary(max_size=400))
def test_garbage_gives_frames_and_never_an_exception(garbage):
    for frame in decode(garbage):
        assert frame.numbered or frame.quality is not Quality.GOOD


@given(st.binary(max_size=200))
def test_after_any_garbage_the_next_whole_line_is_read(garbage):
    assert decode(garbage + b"\r\n" + LINE)[-1].raw == 125664


@given(st.integers(1, len(LINE) - 3))
def test_a_line_cut_short_never_gives_another_force(length):
    (frame,) = decode(LINE[:length] + b"\r\n")
    assert not frame.numbered or (frame.raw, frame.exponent, frame.unit) == (125664, -1, "lbf")


@given(st.integers(1, len(LINE) - 3))
def test_a_line_that_lost_its_beginning_never_gives_a_force(start):
    assert not any(frame.numbered for frame in decode(LINE[start:]))
