"""The GPIO library: what we ask of it, and what is said where it fails."""

import inspect
import os
import sys

import pytest

from ramphold.core import Quality
from ramphold.errors import PortError
from ramphold.instruments import BridgeConverter, BridgePins
from ramphold.testing import BridgeChip, FakeGpio, VirtualTime


@pytest.fixture
def gpiod():
    """The library itself; it needs no GPIO to be imported."""
    if os.environ.get("CI"):
        import gpiod  # noqa: PLC0415
    else:
        gpiod = pytest.importorskip("gpiod")
    return gpiod


@pytest.fixture
def wired():
    time = VirtualTime()
    return FakeGpio(time, BridgeChip(time)), time


def open_it(time):
    return BridgeConverter(BridgePins(), per_s=80, clock=time, sleep=time.sleep)


@pytest.mark.parametrize("name", ["set_value", "get_value", "release"])
def test_the_library_has_each_call_of_the_fakes_request(gpiod, name):
    ours = inspect.signature(getattr(FakeGpio, name)).parameters
    theirs = inspect.signature(getattr(gpiod.LineRequest, name)).parameters
    assert list(ours) == list(theirs)


def test_the_library_has_each_call_of_the_fakes_chip_and_module(gpiod):
    assert {"config", "consumer"} <= set(inspect.signature(gpiod.Chip.request_lines).parameters)
    assert list(inspect.signature(gpiod.is_gpiochip_device).parameters) == ["path"]
    assert isinstance(gpiod.ChipInfo.__dataclass_fields__["label"].type, type | str)
    assert issubclass(gpiod.RequestReleasedError, Exception)


def test_the_library_has_each_setting_that_we_ask_for(gpiod):
    line = gpiod.line
    for ours in (FakeGpio.line.Value, FakeGpio.line.Direction, FakeGpio.line.Bias):
        theirs = getattr(line, ours.__name__)
        assert {one.name for one in ours} <= {one.name for one in theirs}
    settings = gpiod.LineSettings(direction=line.Direction.INPUT, bias=line.Bias.PULL_UP)
    assert settings.bias is line.Bias.PULL_UP
    assert gpiod.LineSettings(output_value=line.Value.INACTIVE).output_value is line.Value.INACTIVE


def test_a_file_that_is_no_gpio_chip_is_none_for_the_library(gpiod, tmp_path):
    assert not gpiod.is_gpiochip_device(str(tmp_path / "gpiochip0"))
    assert not gpiod.is_gpiochip_device("/dev/null")


def test_a_converter_that_is_no_longer_ready_when_its_frame_is_read_is_said_to_be_so(rig):
    bench = rig()
    bench.gpio.data_wire = "off"
    assert bench.converter._wires.frame() is Quality.NOT_READY


def test_without_the_library_it_says_how_to_get_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "gpiod", None)
    with pytest.raises(PortError, match=r"sudo sh systemd/install\.sh") as caught:
        open_it(VirtualTime())
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("label", ["pinctrl-bcm2835", "pinctrl-bcm2711", "pinctrl-rp1"])
@pytest.mark.parametrize("number", [0, 4, 15])
def test_the_chip_of_the_header_is_found_by_its_label(wired, gpio_module, label, number):
    # from memory: gpiodetect on a Pi 3, 4 and 5; the number differs between kernels
    gpio, time = wired
    gpio.labels = {"/dev/gpiochip1": "raspberrypi-exp-gpio", f"/dev/gpiochip{number}": label}
    gpio_module(gpio)
    open_it(time)
    assert gpio.claimed == {5, 13}


@pytest.mark.parametrize("labels", [{}, {"/dev/gpiochip0": "INT34C5:00"}])
def test_another_computer_is_told_what_to_use(wired, gpio_module, labels):
    gpio, time = wired
    gpio.labels = labels
    gpio_module(gpio)
    with pytest.raises(PortError, match="no Raspberry Pi header; use a load of kind indicator or"):
        open_it(time)


@pytest.mark.parametrize("call", ["Chip", "request_lines"])
def test_pins_that_can_not_be_had_are_told_with_what_to_do(wired, gpio_module, monkeypatch, call):
    gpio, time = wired

    def refuse(*_, **__):
        raise PermissionError(13, "Permission denied", "/dev/gpiochip4")

    monkeypatch.setattr(gpio, call, refuse)
    gpio_module(gpio)
    with pytest.raises(PortError, match=r"GPIO 5 and 13 can't be claimed: .* group gpio"):
        open_it(time)
    assert gpio.claimed == set()


def test_a_pin_that_fails_in_use_is_a_port_error(rig):
    bench = rig()
    bench.run(1)
    bench.gpio.release()
    with pytest.raises(PortError, match="can't be read any more: GPIO lines have been released"):
        bench.run(1)
