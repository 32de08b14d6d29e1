"""The bridge converter, undisturbed: one count for each conversion, as the data sheet has it."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import Quality
from ramphold.errors import PortError
from ramphold.testing import BridgeChip, VirtualTime

MS = 1_000_000


# --- the emulation, held to the data sheet ----------------------------------------------------


class Wires:
    """A converter clocked by hand: 1 us high, 1 us low."""

    def __init__(self, **settings):
        self.time = VirtualTime()
        self.chip = BridgeChip(self.time, **settings)

    def pulse(self, high_us=1):
        self.chip.clock(high=True)
        self.time.spend(high_us * 1000)
        self.chip.clock(high=False)
        self.time.spend(1000)
        return self.chip.data()

    def frame(self, pulses=25):
        bits = [self.pulse() for _ in range(24)]
        return bits, [self.pulse() for _ in range(pulses - 24)]

    def ready_after_ms(self, most=1000):
        for ms in range(most):
            if not self.chip.data():
                return ms
            self.time.spend(MS)
        return None


@given(st.integers(-(2**23), 2**23 - 1))
def test_the_emulation_sends_24_bits_twos_complement_first_bit_first(code):
    # published: HX711 data sheet p. 4
    wires = Wires(code=lambda _, __: code)
    wires.ready_after_ms()
    bits, (after,) = wires.frame()
    assert int("".join(map(str, bits)), 2) == code % 2**24
    assert after == 1


@pytest.mark.parametrize(("per_s", "ms"), [(10, 400), (80, 50)])
def test_the_emulation_is_ready_after_four_conversions_and_then_after_each(per_s, ms):
    # published: HX711 data sheet; settling from memory: 400 ms at 10/s, 50 ms at 80/s
    wires = Wires(per_s=per_s)
    assert wires.ready_after_ms() == ms
    wires.frame()
    assert wires.ready_after_ms() == pytest.approx(1000 / per_s, abs=1)


@pytest.mark.parametrize(("pulses", "chosen"), [(25, "A128"), (26, "B32"), (27, "A64")])
def test_the_emulation_takes_its_input_from_the_pulses_and_settles_when_that_changes(
    pulses, chosen
):
    # published: HX711 data sheet p. 4, table 3
    wires = Wires()
    wires.ready_after_ms()
    for expected_ms in (50 if pulses > 25 else 12, 12):
        wires.frame(pulses)
        assert wires.ready_after_ms() == pytest.approx(expected_ms, abs=1)
    wires.frame(pulses)
    assert [frame.input for frame in wires.chip.frames] == ["A128", chosen, chosen]


@pytest.mark.parametrize(("high_us", "sleeps"), [(50, False), (59, False), (61, True)])
def test_the_emulation_sleeps_when_its_clock_is_high_for_over_60_us_and_wakes_at_gain_128(
    high_us, sleeps
):
    # published: HX711 data sheet p. 5
    wires = Wires()
    wires.ready_after_ms()
    wires.frame(27)
    wires.ready_after_ms()
    wires.pulse(high_us)
    assert wires.chip.naps == sleeps
    if sleeps:
        assert wires.ready_after_ms() == 50
        wires.frame()
        assert wires.chip.frames[-1].input == "A128"


def test_a_frame_that_the_next_conversion_ends_in_is_kept_or_replaced():
    for abandoned, code in (("kept", 0b01), ("replaced", 0b10)):
        wires = Wires(code=lambda t, _: 0b01 if t < 60 * MS else 0b10, abandoned=abandoned)
        wires.ready_after_ms()
        for _ in range(10):
            wires.pulse()
        wires.time.spend(13 * MS)
        bits = [wires.pulse() for _ in range(24 if abandoned == "replaced" else 14)]
        assert int("".join(map(str, bits)), 2) == code


# --- our reader, over the emulation --------------------------------------------------------------


@pytest.mark.parametrize("per_s", [10, 12, 80, 86, 93, 112])
@pytest.mark.parametrize("call_ns", [1_000, 25_000])
def test_every_conversion_comes_once_in_order_whatever_the_board_makes_of_its_rate(
    rig, per_s, call_ns
):
    # published and from memory: nominal 10 and 80/s; boards are seen at 11-12 and 80-112
    bench = rig(per_s=per_s, says=10 if per_s < 20 else 80, call_ns=call_ns)
    bench.run(1.5)  # opening: settling, and finding the true rate
    read = bench.run(6)
    assert abs(len(read) - 6 * per_s) <= 1
    assert {one.quality for one in read} == {Quality.GOOD}
    assert {one.skipped for one in read} == {0}
    assert set(bench.errors()) == {0}
    assert [one.t_ns for one in bench.read] == sorted({one.t_ns for one in bench.read})


@pytest.mark.slow
def test_minutes_at_80_a_second_lose_nothing_and_are_stamped_to_the_millisecond(rig):
    bench = rig()
    bench.run(0.5)
    read = bench.run(180)
    assert abs(len(read) - 180 * 80) <= 1
    assert sum(one.skipped for one in read) == 0
    assert set(bench.errors()) == {0}
    late = bench.late_ms()
    assert late[len(late) // 2] < 0.4
    assert late[-1] < 1.0


@pytest.mark.parametrize("gain", [128, 64, 32])
def test_only_conversions_of_the_gain_that_was_asked_for_are_given(rig, gain):
    bench = rig(gain=gain)
    bench.run(3)
    assert len(bench.good()) > 150
    assert set(bench.errors()) == {0}


@pytest.mark.parametrize("gain", [128, 64])
def test_a_converter_that_shows_what_has_not_settled_gives_only_what_has(rig, gain):
    bench = rig(gain=gain, settles_in_silence=False)
    bench.run(3)
    assert len(bench.good()) > 150
    assert set(bench.errors()) == {0}


@pytest.mark.parametrize(
    ("code", "quality"),
    [
        (0x7FFFFF, Quality.SATURATED),
        (-0x800000, Quality.SATURATED),
        (0x7FFFFE, Quality.GOOD),
        (-0x7FFFFF, Quality.GOOD),
        (0, Quality.GOOD),
        (-1, Quality.GOOD),
        (1, Quality.GOOD),
    ],
)
def test_the_end_codes_are_saturated_and_every_other_code_is_a_count(rig, code, quality):
    # from memory: HX711 data sheet p. 4: 800000h and 7FFFFFh are the ends
    bench = rig(code=lambda _, __: code)
    bench.run(2)
    assert {(one.count, one.quality) for one in bench.read} == {(code, quality)}
    assert len(bench.read) > 70


def test_a_moving_load_is_neither_averaged_nor_dropped(rig):
    bench = rig(code=lambda t_ns, _: t_ns // MS * 5)  # 5000 counts a second, jumps of 62
    bench.run(3)
    counts = [one.count for one in bench.read]
    assert {b - a for a, b in itertools.pairwise(counts)} <= {60, 65}


@pytest.mark.parametrize(("per_s", "says"), [(10, 80), (80, 10)])
def test_a_rate_pin_set_otherwise_than_the_configuration_says_is_told(rig, per_s, says):
    bench = rig(per_s=per_s, says=says)
    with pytest.raises(PortError, match=rf"converts \d+ times a second, but .* says {says}"):
        bench.run(5)
    assert bench.read == []


def test_it_gives_its_pins_back_when_closed(rig):
    bench = rig()
    assert bench.gpio.claimed == {5, 13}
    bench.converter.close()
    bench.converter.close()
    assert bench.gpio.claimed == set()
