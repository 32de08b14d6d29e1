"""The way of a bench's records to the laboratory's server. The press works on without any of it."""

from ramphold.publish._broker_config import BrokerConfig
from ramphold.publish._mqtt import Arrived, Connection, Down, Heard, Said, Up
from ramphold.publish._publisher import Publisher

__all__ = [
    "Arrived",
    "BrokerConfig",
    "Connection",
    "Down",
    "Heard",
    "Publisher",
    "Said",
    "Up",
]
