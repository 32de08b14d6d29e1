"""The text inside a packed trace, its compression and its checks.

It is JSON in the gzip format (RFC 1952), which any tool can read. Times are stored as deviations
from a steady step, raw digits as differences, and forces only if the digits do not give them.
"""

import hashlib
import re
import zlib

import msgspec
from msgspec import Struct

from ramphold.core import Quality
from ramphold.errors import WireError
from ramphold.undecodable import UNDECODABLE

VERSION = 1
#: Three and a half hours at 80 readings/s.
MOST_READINGS = 1_000_000
_MOST_BYTES = 32 * 1024 * 1024
# A reading takes under 120 bytes; one that cannot be decoded, with its line, more.
_MOST_BYTES_A_READING, _AROUND = 400, 1000
# A difference of two numbers of 64 bits has 20 digits at most.
_MOST_DIGITS = 20
_ALL_ZEROS = bytes.maketrans(b"123456789", b"0" * 9)
_LONG_NUMBER = re.compile(rb"[\[,:]-?[0-9]{%d}" % (_MOST_DIGITS + 1))
_GZIP = 16 + zlib.MAX_WBITS


class PackedText(Struct, frozen=True, forbid_unknown_fields=True):
    """A trace as JSON.

    Attributes:
        version: of this layout.
        start_ns, step_ns, off_ns: time of the first reading, the usual step, and the deviation of
            each step from it.
        raw: raw digits of each reading, minus those of the reading before it.
        forms: quality, exponent and unit, with the number of readings in a row that have them.
        force: force in lbf; None if the digits give it, text if JSON has no such number.
        lines: bytes that could not be decoded, by the index of the reading.
    """

    version: int
    start_ns: int
    step_ns: int
    off_ns: list[int]
    raw: list[int]
    forms: list[tuple[Quality, int, str, int]]
    force: list[float | str | None]
    lines: dict[int, bytes]


_decoder = msgspec.json.Decoder(PackedText)


def compress(text: bytes) -> bytes:
    """Pack a text."""
    return zlib.compress(text, wbits=_GZIP)


def decompress(packed: bytes, most_bytes: int = _MOST_BYTES) -> bytes:
    """Unpack the text of a packed trace; never more than `most_bytes` of it.

    Raises:
        WireError: it is no gzip file, is cut short, or is too long.
    """
    unpacker = zlib.decompressobj(wbits=_GZIP)
    try:
        text = unpacker.decompress(packed, most_bytes)
    except zlib.error as error:
        raise WireError(f"not a packed trace: {error}") from None
    if not unpacker.eof or unpacker.unused_data:
        raise WireError("not a packed trace: it is cut short, or too long")
    return text


def read_text(text: bytes) -> PackedText:
    """Decode a text, and check that each column has an entry for each reading.

    Raises:
        WireError: it is not the text of a trace.
    """
    # The first test is the fast one; a text in quotation marks may hold as many digits.
    if b"0" * (_MOST_DIGITS + 1) in text.translate(_ALL_ZEROS) and _LONG_NUMBER.search(text):
        raise WireError(f"not a packed trace: a number of more than {_MOST_DIGITS} digits")
    try:
        held = _decoder.decode(text)
    except UNDECODABLE as error:
        raise WireError(f"not a packed trace: {error}") from None
    count = len(held.raw)
    if held.version != VERSION:
        raise WireError(f"a trace packed by version {held.version}: expected {VERSION}")
    if sum(form[3] for form in held.forms) != count or any(form[3] < 1 for form in held.forms):
        raise WireError(f"a trace whose forms are not those of {count} readings")
    if (len(held.off_ns), len(held.force)) != (max(count - 1, 0), count):
        raise WireError(f"a trace whose times or forces are not those of {count} readings")
    return held


def packed_digest(packed: bytes, readings: int) -> str:
    """The SHA-256, in hex, of the text in a packed trace of so many readings.

    No more is unpacked than so many readings can take.

    Raises:
        WireError: it is no packed trace, or one of another number of readings.
    """
    if not 0 <= readings <= MOST_READINGS:
        raise WireError(f"a trace of too many readings: expected {MOST_READINGS} at most")
    most_bytes = min(_AROUND + readings * _MOST_BYTES_A_READING, _MOST_BYTES)
    text = decompress(packed, most_bytes)
    count = len(read_text(text).raw)
    if count != readings:
        raise WireError(f"a trace of {count} readings: expected {readings}")
    return hashlib.sha256(text).hexdigest()
