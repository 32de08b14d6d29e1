"""Bytes to values and back, without I/O: instruments' lines, and the control socket's messages."""

from ramphold.wire import _jsonrpc as jsonrpc
from ramphold.wire._balance import MASS_PROFILES, MassFrame, mass_decoder
from ramphold.wire._indicator import LOAD_PROFILES, LoadFrame, load_decoder
from ramphold.wire._lines import LINE_LIMIT, Line, LineDecoder, LineSplitter
from ramphold.wire._numbers import parse_number, scaled
from ramphold.wire._records import (
    RunRecord,
    decode_assessment,
    decode_command,
    decode_event,
    decode_plan,
    encode_record,
    kind_of,
)

__all__ = [
    "LINE_LIMIT",
    "LOAD_PROFILES",
    "MASS_PROFILES",
    "Line",
    "LineDecoder",
    "LineSplitter",
    "LoadFrame",
    "MassFrame",
    "RunRecord",
    "decode_assessment",
    "decode_command",
    "decode_event",
    "decode_plan",
    "encode_record",
    "jsonrpc",
    "kind_of",
    "load_decoder",
    "mass_decoder",
    "parse_number",
    "scaled",
]
