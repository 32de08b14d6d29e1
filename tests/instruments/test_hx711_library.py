"""hx711-multi and the GPIO module: what of them we rest on, and what is said where they fail."""

import importlib.metadata
import logging
import sys
import tomllib
from pathlib import Path

import pytest

from ramphold.core import Quality
from ramphold.errors import PortError
from ramphold.instruments import BridgeConverter, BridgePins
from ramphold.testing import BridgeChip, FakeGpio, VirtualTime


@pytest.fixture
def wired():
    time = VirtualTime()
    return FakeGpio(time, BridgeChip(time)), time


def open_it(time):
    return BridgeConverter(BridgePins(), per_s=80, clock=time, sleep=time.sleep)


def test_the_library_is_the_one_that_the_extra_names():
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())["project"]
    version = importlib.metadata.version("hx711-multi")
    for extra in ("pi", "dev"):
        assert f"hx711-multi=={version}" in project["optional-dependencies"][extra]


def test_what_we_rest_on_is_in_the_library_and_does_what_we_need(wired, gpio_module):
    gpio, time = wired
    library = gpio_module(gpio, time)
    gpio.setmode(gpio.BCM)
    log = logging.getLogger("hx711-multi")
    log.warn = log.warning
    hx = library.HX711(5, 13, channel_A_gain=128, channel_select="A", log_level="CRITICAL")
    (adc,) = hx._adcs
    for _ in range(3):
        adc._init_set_of_reads()
        while not hx._read():
            pass
        assert adc.raw_reads == [gpio._chip.frames[-1].code % 2**24]
    log.handlers.clear()


def test_a_stock_reader_takes_a_frame_that_it_lost_for_a_reading(wired, gpio_module):
    # What our reader is for: after a stretched pulse the library reads on in mid-frame.
    gpio, time = wired
    library = gpio_module(gpio, time)
    gpio.setmode(gpio.BCM)
    log = logging.getLogger("hx711-multi")
    log.warn = log.warning
    hx = library.HX711(5, 13, log_level="CRITICAL")
    codes = set()
    for one in range(400):
        stretched = one % 20 == 10
        left = iter([0] * 30 + [70_000])
        # Held up before the pin is touched: the pulse seems long, and the converter is awake.
        gpio.held_up = (lambda left=left: next(left, 0)) if stretched else (lambda: 0)
        if hx._read():
            codes.add(hx._adcs[0].raw_reads[-1])
    assert codes - {frame.code % 2**24 for frame in gpio._chip.frames}
    log.handlers.clear()


def test_the_library_says_nothing_by_itself_and_leaves_no_handler(rig, capsys, caplog):
    before = list(logging.getLogger("hx711-multi").handlers)
    bench = rig()
    bench.gpio.data_wire = "off"
    bench.run(2)
    assert bench.read
    assert logging.getLogger("hx711-multi").handlers == before
    assert capsys.readouterr() == ("", "")
    assert caplog.records == []


def test_a_converter_that_is_no_longer_ready_when_the_library_looks_is_said_to_be_so(rig):
    bench = rig()
    bench.gpio.data_wire = "off"
    assert bench.converter._wires.frame() is Quality.NOT_READY


def test_the_library_keeps_no_codes(rig):
    bench = rig()
    bench.run(5)
    assert len(bench.converter._wires._adc.raw_reads) == 1


def test_without_a_gpio_module_it_names_the_extra(monkeypatch):
    monkeypatch.setitem(sys.modules, "RPi.GPIO", None)
    monkeypatch.setitem(sys.modules, "RPi", None)
    with pytest.raises(PortError, match=r"install the extra `pi`: pip install 'ramphold\[pi\]'"):
        open_it(VirtualTime())


@pytest.mark.parametrize(
    ("raised", "told"),
    [
        # rpi-lgpio 0.6 off a Pi, and on a board older than it knows
        ("RuntimeError('This module can only be run on a Raspberry Pi!')", "indicator or iio"),
        ("NotImplementedError('old-style revision codes')", "indicator or iio"),
        # lgpio where the pipe that it makes can't be made
        ("FileNotFoundError(2, 'No such file', '.lgd-nfy-3')", "a folder that can be written"),
        ("ImportError('lgpio: wrong ELF class')", "install the extra `pi`"),
    ],
)
def test_a_gpio_module_that_will_not_be_imported_says_why_and_what_to_do(
    monkeypatch, tmp_path, raised, told
):
    (tmp_path / "RPi").mkdir()
    (tmp_path / "RPi" / "__init__.py").touch()
    (tmp_path / "RPi" / "GPIO.py").write_text(f"raise {raised}\n")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, "RPi", raising=False)
    with pytest.raises(PortError, match=told) as caught:
        open_it(VirtualTime())
    sys.modules.pop("RPi", None)
    assert "\n" not in str(caught.value)


class Error(Exception):
    """As `lgpio.error`, which is no builtin's kin."""


@pytest.mark.parametrize("call", ["setmode", "setup", "output"])
def test_a_pin_that_can_not_be_had_is_told_and_the_others_are_given_back(
    wired, gpio_module, monkeypatch, call
):
    gpio, time = wired

    def refuse(*_, **__):
        raise Error("can not open gpiochip")

    monkeypatch.setattr(gpio, call, refuse)
    gpio_module(gpio, time)
    with pytest.raises(PortError, match=r"GPIO 5 and 13 can't be claimed: can not open .* gpio"):
        open_it(time)
    assert gpio.claimed == set()


def test_pins_numbered_otherwise_are_an_error(wired, gpio_module):
    gpio, time = wired
    gpio.setmode(gpio.BOARD)
    gpio_module(gpio, time)
    with pytest.raises(PortError, match="A different mode"):
        open_it(time)


def test_a_pin_that_fails_in_use_is_a_port_error(rig):
    bench = rig()
    bench.run(1)
    bench.gpio.cleanup([5])
    with pytest.raises(PortError, match="can't be read any more: You must setup"):
        bench.run(1)
