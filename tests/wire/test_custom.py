"""A profile that a user writes: what it reads, and what is refused for being wrong or slow."""

import contextlib
import time
import warnings

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import MassState
from ramphold.errors import ConfigError
from ramphold.wire import custom_mass_profile, mass_decoder

ARROW = r"W(?P<value>[-+ 0-9.]+)(?P<unit>g|kg)>(?P<state>\w*)"


def decode(profile, data):
    return [
        (frame.state, frame.mass_g) for frame in mass_decoder(profile, doubt_first=False).feed(data)
    ]


def test_its_value_unit_and_stable_marker_are_taken_from_their_groups():
    profile = custom_mass_profile(pattern=ARROW, stable="rest", query="M\r\n")
    assert decode(profile, b"W  12.345g>rest\r\nW 12.351g>\r\nW 1.0kg>rest\r\nW12g\r\n") == [
        (MassState.STABLE, 12.345),
        (MassState.MOVING, 12.351),
        (MassState.STABLE, 1000.0),
        (MassState.GARBLED, None),
    ]
    assert profile.query == b"M\r\n"


def test_a_missing_marker_may_be_the_stable_one():
    profile = custom_mass_profile(pattern=r"(?P<value>[0-9.]+) (?P<unit>g)(?P<state>~?)")
    assert decode(profile, b"12.3 g\r12.4 g~\r") == [
        (MassState.STABLE, 12.3),
        (MassState.MOVING, 12.4),
    ]


def test_a_unit_may_be_said_once_for_all_lines():
    profile = custom_mass_profile(pattern=r"(?P<value>[0-9.]+)(?P<state>~?)", unit="mg")
    assert decode(profile, b"39520\r39521~\r") == [
        (MassState.STABLE, 39.52),
        (MassState.MOVING, 39.521),
    ]


def test_a_pattern_without_a_state_says_nothing_of_rest():
    assert not custom_mass_profile(pattern=r"(?P<value>[0-9.]+)", unit="g").tells_rest


def test_lines_to_skip_are_passed_over_and_overload_and_error_are_states():
    profile = custom_mass_profile(pattern=ARROW, stable="rest", skip=r"ID .*")
    assert decode(profile, b"ID 7\r\nOL\r\nUL\r\nErr\r\n--------\r\n") == [
        (MassState.OVERLOAD, None),
        (MassState.UNDERLOAD, None),
        (MassState.ERROR, None),
        (MassState.ERROR, None),
    ]


@pytest.mark.parametrize(
    ("settings", "told"),
    [
        ({"pattern": "(?P<value>["}, "pattern is no regular expression: unterminated"),
        ({"pattern": "[0-9]+ g"}, r"pattern has no group \(\?P<value>"),
        ({"pattern": "(?P<value>.+)"}, r"pattern has no group \(\?P<unit>...\): expected one, or"),
        ({"pattern": "(?P<value>.+)", "unit": "oz"}, "unit is 'oz': expected one of g, mg, kg"),
        ({"pattern": "(?P<value>é)", "unit": "g"}, "pattern: expected ASCII characters only"),
        ({"pattern": "(?P<value>.+)", "unit": "g", "stable": "✓"}, "stable and query: expected"),
        ({"pattern": "(?P<value>.+)", "unit": "g", "skip": "("}, "skip is no regular expression"),
        ({"pattern": "(?P<value>(a+)+)b", "unit": "g"}, "too long: expected no repeat or altern"),
        ({"pattern": "(?P<value>(a|aa)+)b", "unit": "g"}, "too long: expected no repeat or alte"),
        ({"pattern": "(?P<value>(?:a?){30})b", "unit": "g"}, "too long: expected no repeat or al"),
        ({"pattern": "((b)(?P<value>a*))*", "unit": "g"}, "too long: expected no repeat or alter"),
        ({"pattern": r"(?P<value>a)\1", "unit": "g"}, "too long: expected no back reference"),
        ({"pattern": "(?P<value>a)(?P=value)", "unit": "g"}, "too long: expected no back refer"),
        ({"pattern": "(?P<value>a*a*a*a*a*a*)", "unit": "g"}, "it has 6 repeats and 0 choices"),
        ({"pattern": "(?P<value>" + 13 * "a?" + ")", "unit": "g"}, "0 repeats and 13 choices"),
        (
            {"pattern": "(?P<value>a)" + 12 * "b?" + "(?:c|d)", "unit": "g"},
            "0 repeats and 13 choices",
        ),
        ({"pattern": "(?P<value>(?:a?(?:b))+)", "unit": "g"}, "too long: expected no repeat or al"),
        (
            {"pattern": "(?P<value>[0-9]){x}cde", "unit": "g"},
            r"expected no such thing as '\{x\}c'$",
        ),
    ],
)
def test_a_profile_that_can_not_be_used_is_refused_and_says_why(settings, told):
    with pytest.raises(ConfigError, match=told):
        custom_mass_profile(**settings)


def test_a_pattern_whose_meaning_will_change_is_refused_where_nobody_heeds_warnings():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with pytest.raises(ConfigError, match="Possible nested set"):
            custom_mass_profile(pattern="(?P<value>[[0-9])", unit="g")


def test_the_first_line_of_it_is_not_trusted_as_it_may_have_lost_its_beginning():
    decoder = mass_decoder(custom_mass_profile(pattern="(?P<value>[0-9]+)", unit="g"))
    assert [frame.mass_g for frame in decoder.feed(b"45\r12345\r")] == [None, 12345.0]


def test_the_worst_pattern_that_is_taken_takes_no_longer_than_a_reading():
    profile = custom_mass_profile(pattern="(?P<value>.*.*.*.*.*)b", unit="g")
    began = time.process_time()
    decode(profile, b"a" * 48 + b"\r\n")
    # A bound against exponential time, not a measurement: it takes 0.03 s.
    assert time.process_time() - began < 1.0


def test_a_line_longer_than_a_pattern_is_tried_on_is_garbled():
    profile = custom_mass_profile(pattern="(?P<value>[0-9])x*", unit="g")
    assert decode(profile, b"1" + b"x" * 47 + b"\r\n") == [(MassState.STABLE, 1.0)]
    assert decode(profile, b"1" + b"x" * 48 + b"\r\n") == [(MassState.GARBLED, None)]


@given(st.text(alphabet="a()[]{}|*+?.\\1P<>=!:,^$-", max_size=24))
def test_any_text_is_a_pattern_or_is_refused(text):
    with contextlib.suppress(ConfigError):
        custom_mass_profile(pattern=f"(?P<value>.){text}", unit="g")


@given(st.binary(max_size=300))
def test_garbage_gives_frames_and_never_an_exception(garbage):
    profile = custom_mass_profile(pattern=ARROW, stable="rest")
    for state, mass_g in decode(profile, garbage):
        assert (mass_g is not None) == (state in (MassState.STABLE, MassState.MOVING))


@pytest.mark.parametrize(
    "pattern",
    [
        "(?P<value>[0-9]+)(?: kg)*",  # what is repeated can match in one way only
        "(?P<value>(?:[0-9][0-9])+)",
        "(?:(?P<value>[0-9]+)|x)y",
        "(?:(?:a?)b)?(?P<value>[0-9]+)",
        "(?P<value>a*a*a*a*a*)",
        "(?P<value>a*)" + 12 * "b?",
        "(?P<value>a*)" + 11 * "b?" + "(?:c|d)",
    ],
)
def test_a_pattern_whose_time_is_bounded_is_taken(pattern):
    assert custom_mass_profile(pattern=pattern, unit="g").pattern.pattern == pattern.encode()
