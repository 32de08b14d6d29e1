"""Instruments: a port and a decoder make stamped readings and report their health."""

from ramphold.instruments._adapters import Adapter, find_adapters
from ramphold.instruments._balance_reader import BalanceMode, balance, mass_reading
from ramphold.instruments._bridge import BridgeConverter
from ramphold.instruments._converter import Conversion, Converter
from ramphold.instruments._iio import IioChannel, IioConverter
from ramphold.instruments._iio_files import IIO_DEVICES
from ramphold.instruments._instrument import HealthReport, HealthState, Instrument, InstrumentSetup
from ramphold.instruments._listening import PortHeard, collect, listen
from ramphold.instruments._load_indicator import force_reading, load_indicator
from ramphold.instruments._port import NETWORK_PORT, READ_WAIT_S, Port, PortSettings, Tap, Way
from ramphold.instruments._reader import Decoder, Reader
from ramphold.instruments._sampler import Sampler
from ramphold.instruments._scales import CountScale, by_curve, by_pressure
from ramphold.instruments._serial_port import SerialPort
from ramphold.instruments._two_wire import BridgePins

__all__ = [
    "IIO_DEVICES",
    "NETWORK_PORT",
    "READ_WAIT_S",
    "Adapter",
    "BalanceMode",
    "BridgeConverter",
    "BridgePins",
    "Conversion",
    "Converter",
    "CountScale",
    "Decoder",
    "HealthReport",
    "HealthState",
    "IioChannel",
    "IioConverter",
    "Instrument",
    "InstrumentSetup",
    "Port",
    "PortHeard",
    "PortSettings",
    "Reader",
    "Sampler",
    "SerialPort",
    "Tap",
    "Way",
    "balance",
    "by_curve",
    "by_pressure",
    "collect",
    "find_adapters",
    "force_reading",
    "listen",
    "load_indicator",
    "mass_reading",
]
