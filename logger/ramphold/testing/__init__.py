"""Test doubles that are shipped and tested; the running program never imports them."""

from ramphold.testing._clock import ManualClock
from ramphold.testing._inbox import Inbox
from ramphold.testing._port import ScriptedPort, StepPort

__all__ = ["Inbox", "ManualClock", "ScriptedPort", "StepPort"]
