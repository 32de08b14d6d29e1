import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import MassState
from ramphold.errors import ConfigError
from ramphold.wire import MASS_PROFILES, MassFrame, mass_decoder

REPLY = b"S S     12.345 g\r\n"
PRINT = b"ST,+00012.345  g\r\n"


def one(profile, line):
    (frame,) = mass_decoder(profile).feed(line + b"\r\n")
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
    ],
)
def test_a_printed_mass_is_given_in_grams_with_the_line_that_carried_it(
    profile, line, state, mass_g
):
    frame = one(profile, line)
    assert (frame.state, frame.mass_g, frame.line) == (state, mass_g, line)


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
    ],
)
def test_a_line_that_does_not_keep_to_the_shape_is_garbled_and_keeps_its_bytes(profile, line):
    assert one(profile, line) == MassFrame(state=MassState.GARBLED, line=line)


@pytest.mark.parametrize("echo", [b"S", b"SI", b"SIR", b"Q"])
def test_a_command_that_comes_back_is_passed_over(echo):
    (frame,) = mass_decoder("reply-state").feed(echo + b"\r\n" + REPLY)
    assert frame.mass_g == 12.345


def test_an_overlong_line_is_one_garbled_frame():
    frames = mass_decoder("state-comma").feed(b"0" * 5000 + b"\r" + PRINT)
    assert [frame.state for frame in frames] == [MassState.GARBLED, MassState.STABLE]


def test_an_unknown_profile_is_refused_with_the_known_ones():
    with pytest.raises(ConfigError, match=r"'x': expected one of reply-state, state-comma"):
        mass_decoder("x")


@given(
    st.sampled_from(sorted(MASS_PROFILES)),
    st.lists(st.one_of(st.sampled_from([REPLY, PRINT]), st.binary(max_size=40)), max_size=8),
    st.data(),
)
def test_any_cutting_of_the_same_bytes_gives_the_same_frames(profile, parts, data):
    stream = b"".join(parts)
    decoder = mass_decoder(profile)
    frames, rest = [], stream
    while rest:
        size = data.draw(st.integers(1, len(rest)))
        frames += decoder.feed(rest[:size])
        rest = rest[size:]
    assert frames == mass_decoder(profile).feed(stream)


@given(st.sampled_from(sorted(MASS_PROFILES)), st.binary(max_size=400))
def test_garbage_gives_frames_and_never_an_exception(profile, garbage):
    for frame in mass_decoder(profile).feed(garbage):
        assert (frame.mass_g is not None) == (frame.state in (MassState.STABLE, MassState.MOVING))


@given(st.sampled_from([("reply-state", REPLY), ("state-comma", PRINT)]), st.data())
def test_a_damaged_line_never_gives_another_mass(case, data):
    profile, line = case
    length = data.draw(st.integers(0, len(line) - 3))
    start = data.draw(st.integers(0, length))
    for frame in mass_decoder(profile).feed(line[start:length] + b"\r\n"):
        assert frame.mass_g in (None, 12.345)
