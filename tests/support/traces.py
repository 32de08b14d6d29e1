"""Damaged packed traces."""

from ramphold.core.trace import Trace
from ramphold.wire.packed_trace import pack_trace, unpack_trace


def without_last_reading(packed):
    """A packed trace that lost its last reading."""
    return pack_trace(Trace.of(unpack_trace(packed).readings()[:-1]))
