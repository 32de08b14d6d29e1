"""Bytes to values and back, without I/O: instruments' lines, and the control socket's messages."""

from ramphold.wire import _jsonrpc as jsonrpc
from ramphold.wire._balance import (
    MASS_PROFILES,
    MassFrame,
    MassProfile,
    custom_mass_profile,
    mass_decoder,
    mass_profile,
)
from ramphold.wire._certificate import (
    Certificate,
    CertificatePoint,
    CertificateResult,
    read_certificate,
)
from ramphold.wire._chain import decode_body, encode_body, link
from ramphold.wire._framing import seven_bit_framing
from ramphold.wire._indicator import (
    LOAD_PROFILES,
    LoadFrame,
    LoadProfile,
    load_decoder,
    load_profile,
)
from ramphold.wire._lines import LINE_LIMIT, Line, LineDecoder, LineSplitter
from ramphold.wire._numbers import parse_number, scaled
from ramphold.wire._properties import properties_xml
from ramphold.wire._records import (
    RunRecord,
    decode_assessment,
    decode_command,
    decode_event,
    decode_plan,
    encode_record,
    kind_of,
)
from ramphold.wire._trace import (
    TRACE_HEADER,
    pack_trace,
    printed_lbf,
    trace_lines,
    trace_sha256,
    unpack_trace,
)
from ramphold.wire._transcript import frame_text, transcript

__all__ = [
    "LINE_LIMIT",
    "LOAD_PROFILES",
    "MASS_PROFILES",
    "TRACE_HEADER",
    "Certificate",
    "CertificatePoint",
    "CertificateResult",
    "Line",
    "LineDecoder",
    "LineSplitter",
    "LoadFrame",
    "LoadProfile",
    "MassFrame",
    "MassProfile",
    "RunRecord",
    "custom_mass_profile",
    "decode_assessment",
    "decode_body",
    "decode_command",
    "decode_event",
    "decode_plan",
    "encode_body",
    "encode_record",
    "frame_text",
    "jsonrpc",
    "kind_of",
    "link",
    "load_decoder",
    "load_profile",
    "mass_decoder",
    "mass_profile",
    "pack_trace",
    "parse_number",
    "printed_lbf",
    "properties_xml",
    "read_certificate",
    "scaled",
    "seven_bit_framing",
    "trace_lines",
    "trace_sha256",
    "transcript",
    "unpack_trace",
]
