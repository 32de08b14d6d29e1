"""An instrument is known by its bytes alone: its shape and framing, or nothing."""

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from ramphold.sim import BalanceTalker, LoadTalker
from ramphold.wire import LOAD_PROFILES, MASS_PROFILES, recognise
from ramphold.wire._seven_bits import seven_bit_framing

EVERY = [("load", name) for name in LOAD_PROFILES] + [("balance", name) for name in MASS_PROFILES]
FORCES_LBF = (0.0, 12.3, 4000.1, 12566.4, 12566.4, -3.1, 812.0, 812.0)
MASSES_G = (0.0, 39.52, 39.52, 112.436, 0.001, 0.001, 1.5, 1.5)


def sent(kind, name, forces_lbf=FORCES_LBF, masses_g=MASSES_G):
    """What the simulated instrument sends, at rest and moving; written apart from the decoders."""
    if kind == "load":
        talker = LoadTalker(shape=name)
        return b"".join(talker.line(force_lbf) for force_lbf in forces_lbf)
    talker = BalanceTalker(reply=name, print_out=name)
    lines = []
    for number, mass_g in enumerate(masses_g):
        talker.put(mass_g, stable=number % 2 == 1)
        lines.append(talker.print_key())
    return b"".join(lines)


def shapes(data, **how):
    return {(one.kind, one.profile) for one in recognise(data, **how)}


def with_parity(data, parity):
    """Seven bits and parity, as a port set to eight bits reads them."""
    return bytes(byte | ((byte.bit_count() + parity) % 2) << 7 for byte in data)


@pytest.mark.parametrize(("kind", "name"), EVERY)
def test_the_bytes_of_every_shape_are_recognised(kind, name):
    assert (kind, name) in shapes(sent(kind, name))


@pytest.mark.parametrize(("kind", "name"), EVERY)
@given(data=st.data())
@settings(max_examples=25)
def test_wherever_one_begins_and_ends_to_listen_it_is_recognised(kind, name, data):
    values = st.lists(st.floats(-400, 4000).map(lambda x: round(x, 1)), min_size=8, max_size=12)
    masses = st.lists(st.floats(0, 200).map(lambda x: round(x, 3)), min_size=12, max_size=14)
    stream = sent(kind, name, data.draw(values), data.draw(masses))
    line = len(stream) // 12
    start = data.draw(st.integers(0, line))
    end = data.draw(st.integers(len(stream) - line, len(stream)))
    assert (kind, name) in shapes(stream[start:end])


@pytest.mark.parametrize(("kind", "name"), EVERY)
@pytest.mark.parametrize(("parity", "framing"), [(0, "7E1"), (1, "7O1")])
def test_seven_bits_with_parity_are_told_from_eight(kind, name, parity, framing):
    found = recognise(with_parity(sent(kind, name), parity))
    assert framing in {one.framing for one in found if (one.kind, one.profile) == (kind, name)}
    assert {one.framing for one in recognise(sent(kind, name))} == {"8N1"}


@pytest.mark.parametrize(
    ("data", "found"),
    [
        # A unit that is a force to one and a mass to the other.
        (3 * b"ST,+00012.3 kg\r\n", {("load", "state-comma"), ("balance", "state-comma")}),
        # At rest nothing tells whether a moving line would lack its unit or have a mark.
        (4 * b"+    812.0 lbf\r\n", {("load", "unit-at-rest"), ("load", "mark-while-moving")}),
        (4 * b"     12.345 g\r\n", {("balance", "mark-while-moving")}),
        # One moving line settles it.
        (3 * b"+    812.0 lbf\r\n" + b"+    813.0    \r\n", {("load", "unit-at-rest")}),
        (3 * b"     N       0.3746 g    \r\n", {("balance", "mode-letter")}),
    ],
)
def test_two_shapes_that_fit_are_told_as_two(data, found):
    assert shapes(data) == found


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\x00" * 200,
        b"\xff" * 200,
        b"\r\n" * 50,
        b"login: \r\nPassword: \r\nLast login: Mon\r\n",
        b"AT\r\nOK\r\nOK\r\nERROR\r\n",
        b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n" * 5,
        b"0.000\r\n" * 20,
        b"OL\r\n" * 20,
        b"Err\r\n" * 20,
        b"ST,GS,+  0001234 lbf\r\n" * 2,  # too few to be sure
        b"ST,GS,+  0001234 lbf\r\nnoise\r\n" * 9,
        b"ST,GS,+  0001234 lbf\r\nnoise\r\n" + b"ST,GS,+  0001234 lbf\r\n" * 4,
        bytes(range(256)) * 4,
    ],
)
def test_what_is_no_instrument_is_recognised_as_nothing(data):
    assert recognise(data) == ()


def test_three_whole_lines_of_a_balance_are_enough():
    line = b"     12.345 g\r\n"
    assert [one.values for one in recognise(3 * line)] == [3]
    assert recognise(2 * line) == ()


EVEN = b"+123-+123-+1"  # twelve bytes of five kinds


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (EVEN, True),
        (EVEN[:-1], False),
        (b"+12-" * 3, True),
        (b"+1-" * 4, False),
        (b"+1-" * 40, False),
        (b"0123456789A", False),
    ],
)
def test_twelve_bytes_of_four_kinds_tell_a_parity_and_fewer_do_not(text, told):
    assert seven_bit_framing(with_parity(text, 0)) == ("7E1" if told else None)


@given(st.binary(max_size=400))
@example(b"\x02   000000000000\r" * 3)
def test_noise_is_recognised_as_nothing(data):
    # Bytes that happen to spell lines of an instrument are no noise.
    assume(sum(byte in b"0123456789" for byte in data) < 12)
    assert recognise(data) == ()


@pytest.mark.parametrize(("kind", "name"), EVERY)
def test_a_wrong_rate_is_noise(kind, name):
    """At half the rate each bit is read twice, so that no byte survives."""
    bits = "".join(f"0{byte:08b}"[0] + f"{byte:08b}"[::-1] + "1" for byte in sent(kind, name))
    doubled = "".join(bit * 2 for bit in bits)
    read, at = bytearray(), 0
    while (at := doubled.find("0", at)) >= 0 and at + 10 <= len(doubled):
        read.append(int(doubled[at + 1 : at + 9][::-1], 2))
        at += 10
    assert recognise(bytes(read)) == ()


def test_one_answer_to_a_query_is_enough_where_one_was_asked_for():
    talker = BalanceTalker()
    talker.put(39.52)
    answer = talker.feed(b"SI\r\n")
    assert recognise(answer) == ()
    (found,) = recognise(answer, least=1)
    assert (found.kind, found.profile, found.units) == ("balance", "reply-state", ("g",))
    assert (found.newest, found.line) == ("39.52 g", b"S S     39.520 g")


def test_a_shape_whose_lines_lack_their_unit_says_that_it_must_be_told():
    (found,) = recognise(5 * b"+007.12/0 G S\r\n")
    assert (found.profile, found.needs_unit, found.units) == ("digit-at-rest", True, ())
    assert found.newest == "7.12"


def test_a_shape_whose_lines_have_the_unit_that_it_needs_shows_it():
    shapes = {one.profile: one for one in recognise(5 * b"+   12.50 kg  \r\n")}
    found = shapes["unit-at-rest"]
    assert (found.needs_unit, found.units, found.newest) == (True, ("kg",), "12.5 kg")


def test_a_line_of_fixed_width_is_longer_by_its_label_and_by_nothing_else():
    for line in (b"+   12.50 kg  ", b"G     +   12.50 kg  ", b"N     +   12.50 kg  "):
        shapes = {one.profile: one for one in recognise(5 * (line + b"\r\n"))}
        assert shapes["unit-at-rest"].newest == "12.5 kg"
    for line in (b"+   12.50 kg ", b"+    12.50 kg  ", b"G     +    12.50 kg  "):
        assert "unit-at-rest" not in {one.profile for one in recognise(5 * (line + b"\r\n"))}
