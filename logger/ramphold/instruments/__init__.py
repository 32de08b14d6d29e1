"""Instruments: a port and a decoder make stamped readings, and say how they are."""

from ramphold.instruments._backends import BACKENDS, open_port
from ramphold.instruments._balance import balance, mass_reading
from ramphold.instruments._instrument import Health, HealthState, Instrument
from ramphold.instruments._load_indicator import force_reading, load_indicator
from ramphold.instruments._port import READ_WAIT_S, LoggedPort, Port, PortSettings
from ramphold.instruments._reader import Decoder, Reader
from ramphold.instruments._serial_port import SerialPort

__all__ = [
    "BACKENDS",
    "READ_WAIT_S",
    "Decoder",
    "Health",
    "HealthState",
    "Instrument",
    "LoggedPort",
    "Port",
    "PortSettings",
    "Reader",
    "SerialPort",
    "balance",
    "force_reading",
    "load_indicator",
    "mass_reading",
    "open_port",
]
