"""The simulated bench: press, sensor, sand and a person, as functions of a given time."""

from ramphold.sim._hand import Hand, HandHabits
from ramphold.sim._model import LeverMove, Press, PressParameters
from ramphold.sim._operator import Operator, OperatorHabits, Screen
from ramphold.sim._own_hand import OwnHand
from ramphold.sim._sand import SANDS, Sand
from ramphold.sim._sensor import Sensor, SensorParameters
from ramphold.sim._talkers import BalanceTalker, LineFault, LoadTalker

__all__ = [
    "SANDS",
    "BalanceTalker",
    "Hand",
    "HandHabits",
    "LeverMove",
    "LineFault",
    "LoadTalker",
    "Operator",
    "OperatorHabits",
    "OwnHand",
    "Press",
    "PressParameters",
    "Sand",
    "Screen",
    "Sensor",
    "SensorParameters",
]
