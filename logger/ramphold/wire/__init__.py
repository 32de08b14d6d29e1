"""Decodes and encodes, without I/O, the bytes of instruments, control socket and server."""

from ramphold.wire import _jsonrpc as jsonrpc
from ramphold.wire._balance_lines import (
    MASS_PROFILES,
    MassFrame,
    MassProfile,
    custom_mass_profile,
    mass_decoder,
    mass_profile,
)
from ramphold.wire._bench_messages import (
    Part,
    Receipt,
    RecordMessage,
    RefusedRecord,
    RunMessage,
    StateMessage,
)
from ramphold.wire._certificate import (
    Certificate,
    CertificateFacts,
    CertificatePoint,
    CertificateResult,
    read_certificate,
)
from ramphold.wire._chain import decode_body, encode_body, link
from ramphold.wire._envelope import (
    CONTENT_TYPE,
    MOST_MESSAGE_BYTES,
    Envelope,
    bench_of,
    check_bench,
    cut,
    join,
    pack_envelope,
    sender_of,
    topic,
    unpack_envelope,
)
from ramphold.wire._lines import LINE_LIMIT, Line, LineDecoder, LineSplitter
from ramphold.wire._load_lines import (
    LOAD_PROFILES,
    LoadFrame,
    LoadProfile,
    load_decoder,
    load_profile,
)
from ramphold.wire._message_schema import schema
from ramphold.wire._numbers import parse_number, scaled
from ramphold.wire._packed_text import packed_digest
from ramphold.wire._person_signing import check_signature, signature_finding, signed
from ramphold.wire._profiles import Profile
from ramphold.wire._properties import properties_xml
from ramphold.wire._recognition import LEAST_LINES, InstrumentKind, LineShape, recognise
from ramphold.wire._records import (
    RunRecord,
    decode_assessment,
    decode_command,
    decode_event,
    decode_plan,
    encode_record,
    kind_of,
)
from ramphold.wire._run_rows import RunRows
from ramphold.wire._seven_bits import seven_bit_framing
from ramphold.wire._transcript import frame_text, transcript

__all__ = [
    "CONTENT_TYPE",
    "LEAST_LINES",
    "LINE_LIMIT",
    "LOAD_PROFILES",
    "MASS_PROFILES",
    "MOST_MESSAGE_BYTES",
    "Certificate",
    "CertificateFacts",
    "CertificatePoint",
    "CertificateResult",
    "Envelope",
    "InstrumentKind",
    "Line",
    "LineDecoder",
    "LineShape",
    "LineSplitter",
    "LoadFrame",
    "LoadProfile",
    "MassFrame",
    "MassProfile",
    "Part",
    "Profile",
    "Receipt",
    "RecordMessage",
    "RefusedRecord",
    "RunMessage",
    "RunRecord",
    "RunRows",
    "StateMessage",
    "bench_of",
    "check_bench",
    "check_signature",
    "custom_mass_profile",
    "cut",
    "decode_assessment",
    "decode_body",
    "decode_command",
    "decode_event",
    "decode_plan",
    "encode_body",
    "encode_record",
    "frame_text",
    "join",
    "jsonrpc",
    "kind_of",
    "link",
    "load_decoder",
    "load_profile",
    "mass_decoder",
    "mass_profile",
    "pack_envelope",
    "packed_digest",
    "parse_number",
    "properties_xml",
    "read_certificate",
    "recognise",
    "scaled",
    "schema",
    "sender_of",
    "seven_bit_framing",
    "signature_finding",
    "signed",
    "topic",
    "transcript",
    "unpack_envelope",
]
