"""The text inside a packed trace, its compression and its checks.

It is JSON in the gzip format (RFC 1952), which any tool can read. Times are stored as deviations
from a steady step, raw digits as differences, and forces only if the digits do not give them.
"""

import hashlib
import zlib

import msgspec
from msgspec import Struct

from ramphold.core import Quality
from ramphold.errors import WireError

VERSION = 1
_MOST_BYTES = 32 * 1024 * 1024
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


def decompress(packed: bytes) -> bytes:
    """Unpack the text of a packed trace.

    Raises:
        WireError: it is no gzip file, is cut short, or is too long.
    """
    unpacker = zlib.decompressobj(wbits=_GZIP)
    try:
        text = unpacker.decompress(packed, _MOST_BYTES)
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
    try:
        held = _decoder.decode(text)
    except (msgspec.MsgspecError, ValueError) as error:
        raise WireError(f"not a packed trace: {error}") from None
    count = len(held.raw)
    if held.version != VERSION:
        raise WireError(f"a trace packed by version {held.version}: expected {VERSION}")
    if sum(form[3] for form in held.forms) != count or any(form[3] < 1 for form in held.forms):
        raise WireError(f"a trace whose forms are not those of {count} readings")
    if (len(held.off_ns), len(held.force)) != (max(count - 1, 0), count):
        raise WireError(f"a trace whose times or forces are not those of {count} readings")
    return held


def packed_digest(packed: bytes) -> tuple[int, str]:
    """The number of readings in a packed trace, and the SHA-256 of its text in hex.

    Raises:
        WireError: it is no packed trace.
    """
    text = decompress(packed)
    return len(read_text(text).raw), hashlib.sha256(text).hexdigest()
