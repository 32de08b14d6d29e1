"""Whatever goes wrong on the wires or in the scheduler is told by its name, never by a number."""

import pytest

from ramphold.core import Quality
from ramphold.errors import PortError
from ramphold.testing import BRIDGE_FAULTS, interfering

# published: 90 nV of noise at 80/s (a scale board's guide); a count is 2.3 nV at 5 V, gain 128.
NOISE_COUNTS = 90 / (39.06e6 / 2**24)
RATES = pytest.mark.parametrize("per_s", [10, 80])
EACH = pytest.mark.parametrize("fault", BRIDGE_FAULTS, ids=lambda fault: fault.name)


def told(rig, fault):
    """What was said from the fault on."""
    rig.run(4)
    assert rig.good()
    period_ns = 1e9 / rig.says
    began_ns = rig.time.now_ns()
    fault.inject(rig)
    rig.run(40 * period_ns / 1e9)
    return [one for one in rig.read if one.t_ns >= began_ns], began_ns, period_ns


@EACH
@RATES
def test_a_fault_is_named_in_time_and_no_number_comes_of_it(rig, fault, per_s):
    bench = rig(per_s=per_s)
    read, began_ns, period_ns = told(bench, fault)
    first = next(one for one in read if one.quality is not Quality.GOOD)
    assert first.quality is fault.quality
    assert first.t_ns - began_ns <= fault.within * period_ns + 2e6
    assert set(bench.errors()) == {0}


@EACH
def test_a_fault_that_lasts_is_told_again_and_again_but_does_not_flood(rig, fault):
    if not fault.lasts or fault.quality is Quality.SATURATED:
        return
    bench = rig()
    bench.run(1)
    fault.inject(bench)
    bench.run(1)
    later = bench.run(10)
    assert {one.quality for one in later} == {fault.quality}
    assert 10 <= len(later) <= 300


@EACH
@pytest.mark.parametrize("silent", [True, False])
def test_after_a_fault_the_next_settled_conversion_is_read_within_half_a_second(rig, fault, silent):
    if not silent and "supply" in fault.name:
        return  # right after a frame, such a restart looks like the next conversion
    bench = rig(gain=64 if silent else 128, settles_in_silence=silent)
    told(bench, fault)
    bench.gpio.data_wire = bench.gpio.clock_wire = "joined"
    bench.gpio.held_up = lambda: 0
    bench.chip.code = type(bench.chip)(bench.time).code
    mended_ns = bench.time.now_ns()
    bench.run(0.5)
    after = [one for one in bench.good() if one.t_ns > mended_ns]
    assert after
    assert set(bench.errors()) == {0}


def test_what_was_missed_in_a_fault_is_counted(rig):
    bench = rig()
    bench.run(2)
    bench.gpio.data_wire = "off"
    bench.run(1)
    bench.gpio.data_wire = "joined"
    read = bench.run(1)
    missed = next(one.skipped for one in read if one.counted)
    assert 80 <= missed <= 100
    seen = bench.good()
    span_s = (seen[-1].t_ns - seen[0].t_ns) / 1e9
    assert len(seen) + sum(one.skipped for one in seen) == pytest.approx(span_s * 80 + 1, abs=1)


@pytest.mark.parametrize("pulse", range(1, 26))
def test_a_converter_that_falls_asleep_unnoticed_gives_no_count_beyond_its_noise(rig, pulse):
    # The data sheet promises no sleep up to 50 us, and sleep from 60; the reader notices 60.
    bench = rig(sleeps_after_s=50e-6, gain=64)
    bench.run(2)

    def stretch(number):
        if number == pulse:
            bench.chip.on_pulse = lambda _: None
            bench.time.spend(52_000)

    bench.chip.on_pulse = stretch
    read = bench.run(1)
    assert Quality.NOT_READY in {one.quality for one in read}
    assert max(bench.errors()) < NOISE_COUNTS


@pytest.mark.parametrize("pulse", range(1, 26))
def test_a_data_wire_pulled_off_in_any_bit_gives_no_count_beyond_the_noise(rig, pulse):
    bench = rig()
    bench.run(2)

    def pull(number):
        if number == pulse:
            bench.gpio.data_wire = "off"

    bench.chip.on_pulse = pull
    read = bench.run(1)
    assert read[-1].quality is Quality.NOT_READY
    assert max(bench.errors()) < NOISE_COUNTS


@pytest.mark.parametrize("before_ms", [0.1, 0.3, 0.5])
@pytest.mark.parametrize("conversion", range(9, 20))
def test_a_wire_joined_again_just_before_a_conversion_ends_gives_no_false_count(
    rig, conversion, before_ms
):
    # What is ready then had ended before; the next may end in the midst of its frame.
    bench = rig(abandoned="replaced", call_ns=15_000)
    bench.run(2)
    bench.gpio.data_wire = "off"
    while Quality.NOT_READY not in {one.quality for one in bench.converter.read()}:
        pass
    join_s = bench.chip._series.began_ns / 1e9 + conversion / 80 - before_ms / 1000
    bench.time.plan(join_s, lambda: setattr(bench.gpio, "data_wire", "joined"))
    # What came before the wire was joined is lost, and one restart: eight conversions or nine.
    assert len(bench.run(1)) >= 80 - conversion - 10
    assert set(bench.errors()) == {0}


@pytest.mark.parametrize(("per_s", "then"), [(80, 10), (10, 80)])
def test_a_rate_pin_that_is_changed_while_it_reads_is_told_and_no_count_is_false(rig, per_s, then):
    bench = rig(per_s=per_s)
    bench.run(3)
    bench.chip.period_ns = round(1e9 / then)
    bench.chip.restart()
    with pytest.raises(PortError, match=f"converts {then}|converts 8. times a second"):
        bench.run(15)
    assert set(bench.errors()) == {0}


def test_a_converter_that_runs_twice_as_fast_is_not_taken_for_one_that_is_on_time(rig):
    bench = rig()
    bench.run(2)
    began_ns = bench.time.now_ns()
    bench.chip.period_ns //= 2
    read = bench.run(0.5)
    assert {one.quality for one in read if one.t_ns > began_ns + 5e7} == {Quality.READ_TOO_LATE}
    assert set(bench.errors()) == {0}


def test_a_converter_that_is_dead_from_the_start_is_opened_and_told(rig):
    bench = rig(per_s=1e-3, says=80)
    read = bench.run(3)
    assert {one.quality for one in read} == {Quality.NOT_READY}
    assert 3 <= len(read) <= 6


# --- a scheduler that holds the reader up --------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize(
    ("abandoned", "gain"), [("kept", 128), ("replaced", 128), ("replaced", 64)]
)
def test_minutes_of_rare_preemption_cost_little_and_corrupt_nothing(rig, abandoned, gain):
    # 2e-5 of the calls, 40 us to 6 ms: what a busy computer was seen to do
    held_up = interfering(1, share=2e-5, longest_s=6e-3)
    bench = rig(held_up=held_up, abandoned=abandoned, gain=gain)
    bench.run(120)
    assert set(bench.errors()) == {0}
    assert len(bench.good()) > 0.98 * 120 * 80


@pytest.mark.slow
@pytest.mark.parametrize("abandoned", ["kept", "replaced"])
@pytest.mark.parametrize(("gain", "per_s"), [(128, 80), (64, 80), (32, 80), (128, 93), (64, 10)])
@pytest.mark.parametrize("longest_s", [6e-3, 40e-3])
def test_heavy_preemption_is_told_frame_by_frame_and_corrupts_nothing(
    rig, abandoned, gain, per_s, longest_s
):
    held_up = interfering(2, share=1e-3, longest_s=longest_s)
    bench = rig(
        per_s=per_s, says=80 if per_s > 20 else 10, gain=gain, held_up=held_up, abandoned=abandoned
    )
    bench.run(30)
    assert set(bench.errors()) == {0}
    assert {one.quality for one in bench.read} >= {Quality.GOOD, Quality.PULSE_TOO_LONG}
    times = [one.t_ns for one in bench.read]
    assert times == sorted(times)


@pytest.mark.parametrize("seed", range(8))
def test_short_stretches_around_the_limit_of_60_us_corrupt_nothing(rig, seed):
    held_up = interfering(seed, share=5e-3, longest_s=90e-6)
    bench = rig(gain=64, held_up=held_up, abandoned="replaced")
    bench.run(20)
    assert set(bench.errors()) == {0}
    assert bench.good()
