import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import Quality
from ramphold.errors import ConfigError
from ramphold.wire import LOAD_PROFILES, LoadFrame, load_decoder, load_profile

LINE = b"ST,GS,+ 012566.4 lbf\r\n"

# A line of 12566.4 lbf in each shape: common practice, no source.
LINES = {
    "state-comma": LINE,
    "mark-while-moving": b"+  12566.4 lbf\r\n",
    "unit-at-rest": b"+12566.4  lbf \r\n",
    "mode-letter": b"     G      12566.4 lbf\r\n",
    "framed": b"\x02+  125664     0\r",
}
SHAPES = {
    name: load_profile(name, "lbf" if row.needs_unit else "") for name, row in LOAD_PROFILES.items()
}


def decode(data, profile="state-comma"):
    return load_decoder(SHAPES[profile]).feed(data)


def read(profile, line):
    """What a line says that is not the first."""
    return decode(b"xx\r\n" + line, profile)[1:]


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


@pytest.mark.parametrize(
    ("profile", "line", "quality", "printed"),
    [
        ("mark-while-moving", b"+  12566.4 lbf ?", Quality.UNSTEADY, (125664, -1, "lbf")),
        ("mark-while-moving", b"-   55.898kN", Quality.GOOD, (-55898, -3, "kN")),
        ("mark-while-moving", b"  - 12.3 N", Quality.GOOD, (-123, -1, "N")),
        ("mark-while-moving", b"  5700 KG ?", Quality.UNSTEADY, (5700, 0, "kgf")),
        ("unit-at-rest", b"+12566.4      ", Quality.UNSTEADY, (125664, -1, "lbf")),
        ("unit-at-rest", b"- 55.898  kN  ", Quality.GOOD, (-55898, -3, "kN")),
        ("unit-at-rest", b"N     + 55898  N    ", Quality.GOOD, (55898, 0, "N")),
        ("mode-letter", b"     N       55,898 kN", Quality.GOOD, (55898, -3, "kN")),
        ("mode-letter", b"G  -  3.1 kgf", Quality.GOOD, (-31, -1, "kgf")),
        ("framed", b"\x02+( 125664     0", Quality.UNSTEADY, (125664, -1, "lbf")),
        ("framed", b"\x02*2   5700     0", Quality.GOOD, (-5700, 0, "kgf")),
        ("framed", b"\x02(0     57     0", Quality.GOOD, (57, 2, "kgf")),
        ("framed", b"\x02+$ 999999     0", Quality.SATURATED, (0, 0, "lbf")),
        ("framed", b"\x02+&      0     0", Quality.UNDER_RANGE, (0, 0, "lbf")),
    ],
)
def test_every_shape_keeps_digits_places_and_unit(profile, line, quality, printed):
    (frame,) = read(profile, line + b"\r\n")
    assert (frame.quality, (frame.raw, frame.exponent, frame.unit)) == (quality, printed)


def test_a_framed_stream_is_read_whatever_its_check_sums_are():
    frames = [b"\x02+  %06d     0\r" % number for number in range(256)]
    stream = b"".join(frame + bytes([number]) for number, frame in enumerate(frames))
    assert [frame.raw for frame in decode(stream, "framed")] == list(range(256))


def test_an_overlong_line_is_one_garbled_frame():
    frames = decode(b"9" * 5000 + b"\r\n" + LINE)
    assert [frame.quality for frame in frames] == [Quality.GARBLED, Quality.GOOD]


def test_a_line_of_padding_alone_says_nothing():
    assert decode(b"\0\0\0\r\n   \r\n") == []


def test_the_first_line_of_a_shape_without_a_start_is_not_trusted():
    frames = decode(b"6.4 lbf\r\n+ 12566.4 lbf\r\n", "mark-while-moving")
    assert [frame.quality for frame in frames] == [Quality.GARBLED, Quality.GOOD]


def test_an_unknown_profile_is_refused_with_the_known_ones():
    with pytest.raises(
        ConfigError, match=r"unknown line profile 'stx': expected one of state-comma"
    ):
        load_profile("stx")


def test_a_unit_is_asked_for_where_a_moving_load_comes_without():
    with pytest.raises(ConfigError, match=r"expected unit, one of N, kN, kgf, lbf"):
        load_profile("unit-at-rest")


@given(
    st.sampled_from(sorted(LINES)),
    st.lists(
        st.one_of(st.sampled_from(sorted(LINES.values())), st.binary(max_size=40)), max_size=8
    ),
    st.data(),
)
def test_any_cutting_of_the_same_bytes_gives_the_same_frames(profile, parts, data):
    stream = b"".join(parts)
    decoder = load_decoder(SHAPES[profile])
    frames, rest = [], stream
    while rest:
        size = data.draw(st.integers(1, len(rest)))
        frames += decoder.feed(rest[:size])
        rest = rest[size:]
    assert frames == decode(stream, profile)


@given(st.sampled_from(sorted(LINES)), st.binary(max_size=400))
def test_garbage_gives_frames_and_never_an_exception(profile, garbage):
    for frame in decode(garbage, profile):
        assert frame.numbered or frame.quality is not Quality.GOOD


@given(st.sampled_from(sorted(LINES)), st.binary(max_size=200))
def test_after_any_garbage_the_next_whole_line_is_read(profile, garbage):
    assert decode(garbage + b"\r\nx\r\n" + LINES[profile], profile)[-1].printed == 12566.4


@given(st.sampled_from(sorted(LINES)), st.data())
def test_a_line_cut_short_never_gives_another_force(profile, data):
    line = LINES[profile].rstrip(b"\r\n")
    for frame in read(profile, line[: data.draw(st.integers(0, len(line)))] + b"\r\n"):
        assert not frame.numbered or (frame.printed, frame.unit) == (12566.4, "lbf")


@given(st.sampled_from(sorted(LINES)), st.data())
def test_a_line_that_lost_its_beginning_never_gives_a_force(profile, data):
    line = LINES[profile]
    lost = line[data.draw(st.integers(1, len(line.rstrip(b"\r\n")))) :]
    for frame in decode(lost, profile):
        assert not frame.numbered or (frame.printed, frame.unit) == (12566.4, "lbf")


def test_a_line_that_could_not_be_decoded_has_no_digits_and_no_unit():
    (frame,) = load_decoder(load_profile("state-comma")).feed(b"rubbish\r\n")
    assert (frame.quality, frame.raw, frame.exponent, frame.unit) == (Quality.GARBLED, 0, 0, "")
