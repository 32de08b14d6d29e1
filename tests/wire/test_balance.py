import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import MassState
from ramphold.errors import ConfigError
from ramphold.wire import MASS_PROFILES, MassFrame, mass_decoder, mass_profile

REPLY = b"S S     12.345 g\r\n"
PRINT = b"ST,+00012.345  g\r\n"

# A line of 12.345 g at rest in each shape: common practice, no source.
LINES = {
    "reply-state": REPLY,
    "state-comma": PRINT,
    "unit-at-rest": b"+   12.345 g  \r\n",
    "mark-while-moving": b"     12.345 g  \r\n",
    "mode-letter": b"     N      12.345 g    \r\n",
    "letter-at-rest": b"   12.345  gS\r\n",
    "digit-at-rest": b"+012.345/0 G S\r\n",
    "framed": b"\x02-!!012345000000\r",
    "net-line": b"N      +   12.345 g\r\n",
}
SHAPES = {
    name: mass_profile(name, "g" if row.needs_unit else "") for name, row in MASS_PROFILES.items()
}
# A shape without a start may lose its beginning unseen; its first line is not trusted for that.
ANCHORED = sorted(name for name, shape in SHAPES.items() if shape.anchored)


def decode(profile, data):
    return mass_decoder(SHAPES[profile], doubt_first=False).feed(data)


def one(profile, line):
    (frame,) = decode(profile, line + b"\r\n")
    return frame


# Bytes of both shapes: common practice, no source.
@pytest.mark.parametrize(
    ("profile", "line", "state", "mass_g"),
    [
        ("reply-state", b"S S     12.345 g", MassState.STABLE, 12.345),
        ("reply-state", b"S D     12.351 g", MassState.MOVING, 12.351),
        ("reply-state", b"S S -    0.012 g", MassState.STABLE, -0.012),
        ("reply-state", b"S S    39520 mg", MassState.STABLE, 39.52),
        ("reply-state", b"SI S     0.1 ct", MassState.STABLE, 0.02),
        ("reply-state", b"S S  12,345 g", MassState.STABLE, 12.345),
        ("state-comma", b"ST,+00012.345  g", MassState.STABLE, 12.345),
        ("state-comma", b"US,NT,-0000.012 g", MassState.MOVING, -0.012),
        ("state-comma", b"ST,GS, 00254.80 kg", MassState.STABLE, 254800.0),
        ("state-comma", b"ST,+00001.000 LB", MassState.STABLE, 453.59237),
        ("unit-at-rest", b"+   12.345    ", MassState.MOVING, 12.345),
        ("unit-at-rest", b"G     - 12345.0 MG ", MassState.GARBLED, None),  # one byte too few
        ("unit-at-rest", b"G     -  12345.0 MG ", MassState.STABLE, -12.345),
        ("mark-while-moving", b"     12.345 g ?", MassState.MOVING, 12.345),
        ("mode-letter", b"     N       0.3746 g    ", MassState.STABLE, 0.3746),
        ("letter-at-rest", b"   12.345  g ", MassState.MOVING, 12.345),
        ("digit-at-rest", b"+007.12/3 G S", MassState.MOVING, 7.12),
        ("digit-at-rest", b"+007.12/0", MassState.STABLE, 7.12),
        ("net-line", b"Net: 12,345 g", MassState.STABLE, 12.345),
    ],
)
def test_a_printed_mass_is_given_in_grams_with_the_line_that_carried_it(
    profile, line, state, mass_g
):
    frame = one(profile, line)
    assert (frame.state, frame.mass_g, frame.line) == (state, mass_g, line)


@pytest.mark.parametrize("rest", [b"C\r", b"\0C \r", b"\r", b" \0\r"])
def test_the_check_sum_and_the_padding_of_a_framed_stream_are_passed_over(rest):
    assert [frame.mass_g for frame in decode("framed", LINES["framed"] + rest)] == [12.345]


@pytest.mark.parametrize(
    ("second", "mass_g"), [(b" ", 5599.597808), (b"!", 5599.597808), (b"0", 12345), (b"1", 12345)]
)
def test_the_unit_of_a_framed_stream_is_a_bit_of_its_own_beside_that_of_a_net_weight(
    second, mass_g
):
    # 12.345 lb, with bit 0 for a net weight, and kg with bit 4. Pound: exact, 0.45359237 kg.
    (frame,) = decode("framed", b"\x02-" + second + b" 012345000000\r")
    assert frame.mass_g == pytest.approx(mass_g, rel=1e-9)


def test_a_line_without_a_number_has_no_digits():
    frame = one("reply-state", b"S I")
    assert (frame.state, frame.digits, frame.exponent, frame.unit) == (MassState.BUSY, 0, 0, "")


def test_the_printed_digits_and_unit_are_kept_beside_the_mass():
    assert one("reply-state", b"S S    39520 mg") == MassFrame(
        state=MassState.STABLE,
        mass_g=39.52,
        digits=39520,
        exponent=0,
        unit="mg",
        line=b"S S    39520 mg",
    )


@pytest.mark.parametrize(
    ("profile", "line", "state"),
    [
        ("reply-state", b"S I", MassState.BUSY),
        ("reply-state", b"S +", MassState.OVERLOAD),
        ("reply-state", b"S -", MassState.UNDERLOAD),
        ("reply-state", b"OL", MassState.OVERLOAD),
        ("reply-state", b"L", MassState.UNDERLOAD),
        ("reply-state", b"S S   -------- g", MassState.ERROR),
        ("reply-state", b"S S   Err", MassState.ERROR),
        ("state-comma", b"OL,+99999.999  g", MassState.OVERLOAD),
        ("state-comma", b"UL,-", MassState.UNDERLOAD),
        ("state-comma", b"ST,OL", MassState.OVERLOAD),
        ("state-comma", b"--------", MassState.ERROR),
        ("state-comma", b"+", MassState.OVERLOAD),
        ("state-comma", b"H", MassState.OVERLOAD),
        ("unit-at-rest", b"       H      ", MassState.OVERLOAD),
        ("mark-while-moving", b"   -------- g", MassState.ERROR),
        ("net-line", b"N  UL", MassState.UNDERLOAD),
        ("framed", b"\x02-$!999999     0", MassState.OVERLOAD),
        ("framed", b"\x02-&!     0     0", MassState.UNDERLOAD),
    ],
)
def test_a_state_without_a_weighing_carries_no_mass(profile, line, state):
    frame = one(profile, line)
    assert (frame.state, frame.mass_g, frame.line) == (state, None, line)


@pytest.mark.parametrize(
    ("profile", "line"),
    [
        ("reply-state", b"S S     12.345"),  # no unit
        ("reply-state", b"S S"),
        ("reply-state", b"S     12.345 g"),  # no state
        ("reply-state", b"S S     12.345 gS S     12.345 g"),
        ("reply-state", b"S S     12.345 lbf"),
        ("reply-state", b"ST,+00012.345  g"),  # the other shape
        ("state-comma", b"S S     12.345 g"),
        ("state-comma", b"T,+00012.345  g"),
        ("state-comma", b"ST,+00012.3"),
        ("state-comma", b"\xd3\xd4,+00012.345  g"),  # seven bits and parity, read as eight
        ("letter-at-rest", b"   12.345  oS"),  # a unit that is not known
        ("digit-at-rest", b"012.345/0 G S"),  # no sign
        ("framed", b"\x02-!!01 345000000"),  # a blank between digits
        ("framed", b"\x02-!\x01012345000000"),  # a status byte that can be none
        ("mode-letter", b"     12.345 g    "),
        ("net-line", b"N      +   12.345"),
    ],
)
def test_a_line_that_does_not_keep_to_the_shape_is_garbled_and_keeps_its_bytes(profile, line):
    assert one(profile, line) == MassFrame(state=MassState.GARBLED, line=line)


@pytest.mark.parametrize(
    ("profile", "line"),
    [
        ("unit-at-rest", b"T     +  112.436 g  "),
        ("mode-letter", b"     T     112.436 g"),
        ("digit-at-rest", b"+112.44/0 T S"),
        ("net-line", b"T +112.436 g"),
        ("net-line", b"G +112.436 g"),
        ("net-line", b"No. 12"),
        ("net-line", b"2026-11-25 14:05"),
        ("net-line", b"----------------"),
    ],
)
def test_a_tare_and_whatever_is_printed_beside_the_net_is_passed_over(profile, line):
    assert decode(profile, line + b"\r\n") == []


@pytest.mark.parametrize("echo", [b"S", b"SI", b"SIR", b"Q"])
def test_a_command_that_comes_back_is_passed_over(echo):
    (frame,) = decode("reply-state", echo + b"\r\n" + REPLY)
    assert frame.mass_g == 12.345


def test_an_overlong_line_is_one_garbled_frame():
    frames = decode("state-comma", b"0" * 5000 + b"\r" + PRINT)
    assert [frame.state for frame in frames] == [MassState.GARBLED, MassState.STABLE]


def test_the_first_line_of_a_shape_without_a_start_is_not_trusted():
    frames = mass_decoder(SHAPES["mark-while-moving"]).feed(b"2.345 g\r\n     12.345 g\r\n")
    assert [(frame.state, frame.mass_g) for frame in frames] == [
        (MassState.GARBLED, None),
        (MassState.STABLE, 12.345),
    ]


def test_an_unknown_profile_is_refused_with_the_known_ones():
    with pytest.raises(ConfigError, match=r"'x': expected one of reply-state, state-comma"):
        mass_profile("x")


@pytest.mark.parametrize(
    ("profile", "unit", "told"),
    [
        ("unit-at-rest", "", "may come without its unit: expected unit, one of ct, g, kg, lb, mg"),
        ("unit-at-rest", "N", "unit is 'N': expected one of ct, g, kg, lb, mg"),
        ("reply-state", "g", "unit is 'g', but a line of profile 'reply-state' has its own"),
    ],
)
def test_a_unit_is_asked_for_where_a_line_may_lack_it_and_only_there(profile, unit, told):
    with pytest.raises(ConfigError, match=told):
        mass_profile(profile, unit)


@given(
    st.sampled_from(sorted(MASS_PROFILES)),
    st.lists(
        st.one_of(st.sampled_from(sorted(LINES.values())), st.binary(max_size=40)), max_size=8
    ),
    st.data(),
)
def test_any_cutting_of_the_same_bytes_gives_the_same_frames(profile, parts, data):
    stream = b"".join(parts)
    decoder = mass_decoder(SHAPES[profile])
    frames, rest = [], stream
    while rest:
        size = data.draw(st.integers(1, len(rest)))
        frames += decoder.feed(rest[:size])
        rest = rest[size:]
    assert frames == mass_decoder(SHAPES[profile]).feed(stream)


@given(st.sampled_from(sorted(MASS_PROFILES)), st.binary(max_size=400))
def test_garbage_gives_frames_and_never_an_exception(profile, garbage):
    for frame in decode(profile, garbage):
        assert (frame.mass_g is not None) == (frame.state in (MassState.STABLE, MassState.MOVING))


@pytest.mark.parametrize("profile", sorted(LINES))
def test_each_shape_gives_the_mass_of_its_line(profile):
    (frame,) = decode(profile, LINES[profile])
    assert (frame.state, frame.mass_g) == (MassState.STABLE, 12.345)


@given(st.sampled_from(sorted(LINES)), st.binary(max_size=200))
def test_after_any_garbage_the_next_whole_line_is_read(profile, garbage):
    assert decode(profile, garbage + b"\r\n" + LINES[profile])[-1].mass_g == 12.345


@given(st.sampled_from(ANCHORED), st.data())
def test_a_line_that_lost_its_beginning_or_its_end_never_gives_another_mass(profile, data):
    line = LINES[profile]
    length = data.draw(st.integers(0, len(line.rstrip(b"\r\n"))))
    start = data.draw(st.integers(0, length))
    for frame in decode(profile, line[start:length] + b"\r\n"):
        assert frame.mass_g in (None, 12.345)


@given(st.sampled_from(ANCHORED), st.data())
def test_two_lines_run_together_never_give_another_mass(profile, data):
    line = LINES[profile].rstrip(b"\r\n")
    lost = data.draw(st.integers(0, len(line)))
    for frame in decode(profile, line[:lost] + line + b"\r\n"):
        assert frame.mass_g in (None, 12.345)


@pytest.mark.parametrize("name", MASS_PROFILES)
def test_a_shape_tells_rest_if_a_line_of_it_may_say_that_the_value_moves(name):
    profile = MASS_PROFILES[name]
    moves = MassState.MOVING in {*profile.states.values(), profile.otherwise}
    assert profile.tells_rest is moves
