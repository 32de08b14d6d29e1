"""Test doubles, shipped and tested; the running program never imports them."""

from ramphold.testing._bridge_chip import BridgeChip, Frame
from ramphold.testing._bridge_faults import BRIDGE_FAULTS, BridgeFault
from ramphold.testing._bridge_rig import BridgeRig, interfering
from ramphold.testing._fake_gpio import FakeGpio, gpio_in_place
from ramphold.testing._iio_tree import IioTree, show
from ramphold.testing._inbox import Inbox
from ramphold.testing._manual_clock import ManualClock
from ramphold.testing._scripted_port import ScriptedPort, StepPort
from ramphold.testing._terminal import Terminal, Use
from ramphold.testing._virtual_time import PassingTime, VirtualTime

__all__ = [
    "BRIDGE_FAULTS",
    "BridgeChip",
    "BridgeFault",
    "BridgeRig",
    "FakeGpio",
    "Frame",
    "IioTree",
    "Inbox",
    "ManualClock",
    "PassingTime",
    "ScriptedPort",
    "StepPort",
    "Terminal",
    "Use",
    "VirtualTime",
    "gpio_in_place",
    "interfering",
    "show",
]
