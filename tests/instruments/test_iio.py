"""Converters through the kernel's files: real files in a folder, as the drivers print them."""

import contextlib
import itertools
import os
import tempfile
from pathlib import Path

import pytest

from ramphold.core import Quality
from ramphold.errors import ConfigError, PortError
from ramphold.instruments import IioChannel, IioConverter
from ramphold.testing import IioTree, VirtualTime, show


@pytest.fixture
def tree(tmp_path):
    return IioTree(tmp_path)


class Reader:
    """A converter with its time, and what is read of it."""

    def __init__(self, tree, *, per_s=80.0, supply=None, **channel):
        self.time = VirtualTime()
        self.converter = IioConverter(
            IioChannel(devices=str(tree.devices), **channel),
            supply=supply,
            per_s=per_s,
            clock=self.time,
            sleep=self.time.sleep,
        )

    def next(self):
        """The next conversion, of few reads."""
        for _ in range(20):
            if read := self.converter.read():
                (one,) = read
                return one
        raise AssertionError


@pytest.fixture
def reader(tree):
    made = []

    def make(**settings):
        made.append(Reader(tree, **settings))
        return made[-1]

    yield make
    for one in made:
        one.converter.close()


# --- 24-bit bridge converter ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("raw", "count", "quality"),
    [
        # published: torvalds/linux drivers/iio/adc/hx711.c: raw is the code with bit 23 flipped
        (8388608, 0, Quality.GOOD),
        (8388609, 1, Quality.GOOD),
        (8388607, -1, Quality.GOOD),
        (16777214, 8388606, Quality.GOOD),
        (16777215, 8388607, Quality.SATURATED),
        (1, -8388607, Quality.GOOD),
        (0, -8388608, Quality.SATURATED),
    ],
)
def test_a_bridge_converters_offset_binary_becomes_the_signed_count_of_user_space(
    tree, reader, raw, count, quality
):
    show(tree.bridge() / "in_voltage0_raw", raw)
    found = reader(device="hx711").next()
    assert (found.count, found.quality) == (count, quality)


@pytest.mark.parametrize(
    ("supply_uv", "printed"),
    [
        # published: hx711.c; recomputed: floor(floor(supply x 100 / gain) / 1678)
        (5_000_000, ("0.000002327", "0.000004655 ", "0.000009311 ")),
        (3_300_000, ("0.000001536", "0.000003072 ", "0.000006145 ")),
    ],
)
def test_the_fake_files_hold_what_the_driver_prints(tree, supply_uv, printed):
    folder = tree.bridge(supply_uv=supply_uv)
    assert (folder / "in_voltage_scale").read_text() == printed[0] + "\n"
    choices = (folder / "in_voltage0_scale_available").read_text()
    assert choices == f"{printed[0]} {printed[1]}\n"
    assert (folder / "in_voltage1_scale_available").read_text() == printed[2] + "\n"


def test_its_millivolts_are_count_times_scale(tree, reader):
    # at 5 V and gain 128 the range is +-19.53 mV (published: HX711 data sheet p. 4)
    show(tree.bridge() / "in_voltage0_raw", 8388608 + 2**22)
    assert reader(device="hx711").next().mv == pytest.approx(19.53 / 2, rel=1e-3)


@pytest.mark.parametrize(
    ("gain", "channel", "scale"),
    [(64, "voltage0", "0.000004655"), (32, "voltage1", "0.000009311")],
)
def test_another_gain_is_chosen_by_its_scale_and_what_has_not_settled_is_dropped(
    tree, reader, gain, channel, scale
):
    folder = tree.bridge()
    one = reader(device="hx711", gain=gain, channel=channel)
    assert (folder / "in_voltage_scale").read_text() == scale + "\n"
    reads = 0
    while not (found := one.converter.read()):
        reads += 1
    assert reads == 5
    assert found[0].mv == 0.0


def test_a_gain_that_the_driver_forgot_is_told_and_chosen_again(tree, reader):
    # published: hx711.c: a reset sets the gain to 128, and channel 0 stays there
    folder = tree.bridge()
    one = reader(device="hx711", gain=64)
    one.next()
    show(folder / "in_voltage_scale", "0.000002327")
    assert one.next().quality is Quality.FAULT
    assert (folder / "in_voltage_scale").read_text() == "0.000004655\n"
    assert one.next().quality is Quality.GOOD


@pytest.fixture
def anyone():
    """Becomes a user with no rights of its own for a while, where this is root."""

    @contextlib.contextmanager
    def become():
        user = os.geteuid()
        if user == 0:
            os.seteuid(65534)
        try:
            yield
        finally:
            os.seteuid(user)

    return become


def test_a_gain_that_may_not_be_chosen_is_told(anyone):
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        tree = IioTree(Path(name))
        (tree.bridge() / "in_voltage_scale").chmod(0o444)
        told = r"can't be set to 0\.000004655: Permission denied; let this user write it"
        with anyone(), pytest.raises(PortError, match=told):
            Reader(tree, device="hx711", gain=64)


def test_a_folder_that_may_not_be_read_is_told(anyone):
    # The folder above may be read by all: pytest's own may not, and would be refused in its place.
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        tree = IioTree(Path(name) / "devices")
        tree.devices.mkdir()
        told = f"{tree.devices} can't be read: Permission denied; let this user read it"
        try:
            tree.devices.chmod(0o000)
            with anyone(), pytest.raises(PortError, match=told):
                Reader(tree, device="hx711")
        finally:
            tree.devices.chmod(0o700)


def test_a_gain_of_32_needs_the_second_input():
    with pytest.raises(ConfigError, match="gain is 32: expected 128 or 64, or voltage1"):
        IioChannel(device="hx711", gain=32)


def test_a_converter_that_does_not_answer_in_time_is_not_ready(tree, reader):
    # The driver gives up after a second or two with EIO; so does this file of the kernel's.
    raw = tree.bridge() / "in_voltage0_raw"
    raw.unlink()
    raw.symlink_to("/proc/self/mem")
    one = reader(device="hx711")
    assert one.next().quality is Quality.NOT_READY
    before_ns = one.time.now_ns()
    assert one.next().quality is Quality.NOT_READY
    assert one.time.now_ns() - before_ns >= 100_000_000  # no flood, however fast it fails


def test_one_that_waits_is_asked_again_before_its_next_conversion_ends(tree, reader):
    tree.bridge()
    one = reader(device="hx711", per_s=10)
    times = [one.next().t_ns for _ in range(4)]
    assert all(0.045 < (b - a) / 1e9 < 0.06 for a, b in itertools.pairwise(times))


# --- 16-bit converter ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("raw", "mv", "quality"),
    [
        # published: torvalds/linux drivers/iio/adc/ti-ads1015.c: 0.125 mV a count at +-4.096 V
        (0, 0.0, Quality.GOOD),
        (16000, 2000.0, Quality.GOOD),
        (-8, -1.0, Quality.GOOD),
        (32766, 4095.75, Quality.GOOD),
        (32767, 4095.875, Quality.SATURATED),
        (-32768, -4096.0, Quality.SATURATED),
    ],
)
def test_a_16_bit_converters_count_and_scale_give_millivolts(tree, reader, raw, mv, quality):
    show(tree.sixteen_bit() / "in_voltage0_raw", raw)
    found = reader(device="ads1015").next()
    assert (found.count, found.mv, found.quality) == (raw, mv, quality)


def test_an_offset_that_the_kernel_shows_is_added(tree, reader):
    # published: Documentation/ABI/testing/sysfs-bus-iio: mV = (raw + offset) x scale
    folder = tree.sixteen_bit()
    show(folder / "in_voltage_offset", -100)
    show(folder / "in_voltage0_raw", 900)
    assert reader(device="ads1015").next().mv == 100.0


def test_the_supply_is_read_with_every_conversion(tree, reader):
    folder = tree.sixteen_bit(channels=("voltage0", "voltage1"))
    one = reader(device="ads1015", supply="voltage1")
    for raw, mv in ((20000, 2500.0), (19000, 2375.0)):
        show(folder / "in_voltage1_raw", raw)
        assert one.next().supply_mv == mv


@pytest.mark.parametrize("per_s", [5, 10, 80, 860])
def test_one_that_does_not_wait_is_read_as_often_as_the_configuration_says(tree, reader, per_s):
    tree.sixteen_bit()
    one = reader(device="ads1015", per_s=per_s)
    read = [one.next() for _ in range(per_s)]
    assert (read[-1].t_ns - read[0].t_ns) / 1e9 == pytest.approx(1 - 1 / per_s, rel=0.01)
    assert {conversion.skipped for conversion in read} == {0}


def test_what_was_missed_is_counted_and_not_made_up_for(tree, reader):
    tree.sixteen_bit()
    one = reader(device="ads1015", per_s=10)
    one.next()
    one.time.spend(1_000_000_000)
    late = one.next()
    assert late.skipped == 9
    after = one.next()
    assert after.skipped == 0
    assert (after.t_ns - late.t_ns) / 1e9 == pytest.approx(0.1, abs=0.002)


def test_a_file_without_a_number_is_garbled(tree, reader):
    folder = tree.sixteen_bit()
    one = reader(device="ads1015")
    show(folder / "in_voltage0_raw", "")
    assert one.next().quality is Quality.GARBLED


# --- finding it ----------------------------------------------------------------------------------


def test_one_of_several_is_chosen_by_its_folder(tree, reader):
    tree.sixteen_bit(1)
    show(tree.sixteen_bit(2) / "in_voltage0_raw", 7)
    assert reader(device="iio:device2").next().count == 7


@pytest.mark.parametrize(
    ("spoil", "channel", "told"),
    [
        (lambda _: None, {"device": "hx711"}, r"no converter 'hx711' .*\(found: ads1015\): load"),
        (lambda _: None, {"channel": "voltage3"}, "in_voltage3?_scale can't be read.*enable this"),
        (lambda f: (f / "in_voltage0_raw").unlink(), {}, "in_voltage0_raw can't be read.*enable"),
        (lambda _: None, {"supply": "voltage1"}, "can't be read.*enable this channel"),
        (lambda f: show(f / "in_voltage0_scale", "x"), {}, "holds 'x': expected a number"),
        (lambda f: show(f / "name", "bmp280"), {"device": "bmp280"}, "expected one of hx711, ads"),
        (lambda f: show(f / "in_voltage1_scale", 1), {"supply": "voltage1"}, "voltage1_raw can't"),
    ],
)
def test_what_is_missing_or_wrong_is_told_with_its_file(tree, reader, spoil, channel, told):
    spoil(tree.sixteen_bit())
    with pytest.raises(PortError, match=told):
        reader(**{"device": "ads1015", **channel})


def test_no_converter_at_all_is_told(reader):
    with pytest.raises(PortError, match=r"\(found: none\)"):
        reader(device="hx711")


def test_a_list_of_scales_that_is_none_is_told(tree, reader):
    show(tree.bridge() / "in_voltage0_scale_available", "a b")
    with pytest.raises(PortError, match="scale_available holds 'a b': expected numbers"):
        reader(device="hx711")


def test_a_converter_that_goes_away_is_a_port_error(tree, reader):
    tree.sixteen_bit()
    one = reader(device="ads1015")
    one.next()
    one.converter.close()
    one.converter.close()
    with pytest.raises(PortError, match="ads1015 voltage0 went away: Bad file descriptor; load"):
        one.next()
