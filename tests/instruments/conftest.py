"""A bridge converter in bits, under our reader; in virtual time."""

import contextlib

import pytest

from ramphold.testing import BridgeChip, BridgeRig, VirtualTime, gpio_in_place

OF_THE_READER = ("gain", "call_ns", "held_up")


@pytest.fixture
def rig():
    """Makes rigs; what is not of the reader is of the converter."""

    def make(*, per_s=80.0, says=None, **settings):
        time = VirtualTime()
        reader = {name: settings.pop(name) for name in OF_THE_READER if name in settings}
        chip = BridgeChip(time, per_s=per_s, **settings)
        return BridgeRig(time, chip, says=says or per_s, **reader)

    return make


@pytest.fixture
def gpio_module():
    """Puts something in the place of `gpiod` until the test is over."""
    with contextlib.ExitStack() as stack:
        yield lambda gpio: stack.enter_context(gpio_in_place(gpio))
