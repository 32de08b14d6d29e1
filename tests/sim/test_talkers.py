"""What the simulated instruments send, byte by byte, against the shapes as they are told."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import MassState, Quality
from ramphold.sim import BalanceTalker, LineFault, LoadTalker
from ramphold.wire import load_decoder, load_profile, mass_decoder, mass_profile, scaled


# Bytes of the shapes: common practice, no source.
def test_a_force_at_rest_is_sent_with_state_mode_sign_zeros_and_unit():
    talker = LoadTalker()
    talker.line(12566.4)
    assert talker.line(12566.37) == b"ST,GS,+ 012566.4 lbf\r\n"


def test_a_force_that_moved_more_than_three_steps_says_so():
    talker = LoadTalker()
    assert [talker.line(force)[:2] for force in (0.2, 0.4, 0.8, 0.8)] == [
        b"ST",
        b"ST",
        b"US",
        b"ST",
    ]


def test_a_gauge_with_a_step_of_ten_shows_the_target_of_4000_psi_as_12570():
    # 4000 psi in a 2 in. bore is 12566.4 lbf: recomputed.
    assert LoadTalker(resolution_lbf=10).line(4000 * math.pi).endswith(b"+ 00012570 lbf\r\n")


def test_a_pull_is_negative():
    assert LoadTalker().line(-3.04) == b"US,GS,- 000003.0 lbf\r\n"


def test_a_force_over_the_capacity_is_an_overload_code_and_no_number():
    talker = LoadTalker(capacity_lbf=20_000)
    assert talker.line(20_001) == b"OL,GS,  -------- lbf\r\n"
    assert talker.line(-20_001) == b"UL,GS,  -------- lbf\r\n"


def test_faults_come_on_request_and_for_one_line_only():
    talker = LoadTalker()
    whole = talker.line(100.0)
    assert talker.line(100.0, LineFault.SILENCE) == b""
    assert talker.line(100.0, LineFault.OVERLOAD).startswith(b"OL")
    assert b"\r" not in talker.line(100.0, LineFault.CUT)
    assert talker.line(100.0, LineFault.GARBAGE).endswith(b"\r\n")
    assert talker.line(100.0) == whole.replace(b"US", b"ST")


def test_a_cut_line_and_garbage_cost_themselves_and_the_line_they_run_into():
    talker = LoadTalker()
    stream = b"".join(
        talker.line(50.0, fault) for fault in (None, LineFault.CUT, None, LineFault.GARBAGE, None)
    )
    qualities = [frame.quality for frame in load_decoder(load_profile("state-comma")).feed(stream)]
    garbled = Quality.GARBLED
    assert qualities == [Quality.UNSTEADY, garbled, garbled, Quality.GOOD]


@given(st.floats(-50_000, 50_000), st.sampled_from([0.1, 0.5, 1, 2, 10]))
def test_a_force_is_read_back_to_half_a_step(force_lbf, resolution_lbf):
    (frame,) = load_decoder(load_profile("state-comma")).feed(
        LoadTalker(resolution_lbf=resolution_lbf).line(force_lbf)
    )
    assert frame.printed == pytest.approx(force_lbf, abs=resolution_lbf / 2 + 1e-6)


def test_a_stable_mass_answers_both_queries_and_the_print_key():
    talker = BalanceTalker()
    talker.put(12.345)
    assert talker.feed(b"S\r\nSI\r\n") == b"S S     12.345 g\r\n" * 2
    assert talker.print_key() == b"ST,+00012.345  g\r\n"


def test_a_moving_mass_is_busy_for_a_stable_query_and_dynamic_for_one_at_once():
    talker = BalanceTalker()
    talker.put(12.351, stable=False)
    assert talker.feed(b"S\r\n") == b"S I\r\n"
    assert talker.feed(b"SI\r\n") == b"S D     12.351 g\r\n"
    assert talker.print_key() == b"US,+00012.351  g\r\n"


def test_an_overloaded_pan_gives_no_mass():
    talker = BalanceTalker(capacity_g=220)
    talker.put(220.5)
    assert talker.feed(b"S\r\n") == b"S +\r\n"
    assert talker.print_key().startswith(b"OL,")


def test_a_query_that_comes_in_pieces_is_answered_once_and_another_word_never():
    talker = BalanceTalker()
    assert talker.feed(b"S") == b""
    assert talker.feed(b"I\r") == b"S S      0.000 g\r\n"
    assert talker.feed(b"\nXYZ\r\n") == b""


@given(st.floats(-100, 220), st.booleans())
def test_a_mass_is_read_back_to_half_a_milligram_in_both_shapes(mass_g, stable):
    talker = BalanceTalker()
    talker.put(mass_g, stable=stable)
    (reply,) = mass_decoder(mass_profile("reply-state")).feed(talker.feed(b"SI\r\n"))
    (printed,) = mass_decoder(mass_profile("state-comma")).feed(talker.print_key())
    for frame in (reply, printed):
        assert frame.state is (MassState.STABLE if stable else MassState.MOVING)
        assert frame.mass_g == pytest.approx(mass_g, abs=0.0005 + 1e-9)
        assert frame.mass_g == scaled(frame.digits, frame.exponent)
