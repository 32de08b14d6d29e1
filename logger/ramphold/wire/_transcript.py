"""A transcript: the bytes that passed a port with their frames, as a text file."""

import datetime as dt
from collections.abc import Callable, Iterable
from decimal import Decimal

from ramphold.core import Quality
from ramphold.wire._balance_lines import MassFrame
from ramphold.wire._load_lines import LoadFrame

_ESCAPES = {0x0A: "\\n", 0x0D: "\\r", 0x5C: "\\\\"}
_PRINTABLE = range(0x20, 0x7F)


def frame_text(frame: LoadFrame | MassFrame) -> str:
    """A frame as text in a transcript."""
    if isinstance(frame, LoadFrame):
        if frame.quality is Quality.GARBLED:
            return "garbled"
        return f"{frame.quality} {_printed(frame.raw, frame.exponent)} {frame.unit}".rstrip()
    text = str(frame.state)
    if frame.unit and (frame.digits or frame.mass_g is not None):
        text += f" {_printed(frame.digits, frame.exponent)} {frame.unit}"
    return text if frame.mass_g is None else f"{text} ({frame.mass_g:.10g} g)"


def transcript(  # noqa: PLR0913  (each is a line of its header)
    parts: Iterable[tuple[str, bytes]],
    decode: Callable[[bytes], Iterable[LoadFrame | MassFrame]],
    *,
    title: str,
    shape: str,
    profile: str,
    unit: str,
    rate: str,
    date: dt.date,
) -> str:
    """The text of a recorded transcript.

    Args:
        parts: the bytes in order, each with its direction: `>` sent, `<` received.
        decode: a decoder that has seen no bytes yet.
        title: what the transcript shows.
        shape: the wire shape in words; not a maker or a model.
        profile: name of the profile that decodes it.
        unit: unit of values without one; empty if they have their own.
        rate: baud, framing, and lines a second.
        date: day of the recording.
    """
    lines = [f"# {title}", f"# wire shape: {shape}", f"# profile: {profile}"]
    if unit:
        lines.append(f"# unit: {unit}")
    lines += [f"# rate: {rate}", f"# date: {date.isoformat()}", "# origin: recorded", ""]
    for way, data in parts:
        lines.append(f"{way} {_escaped(data)}")
        if way == "<":
            lines += [f"= {frame_text(frame)}" for frame in decode(data)]
    return "\n".join(lines) + "\n"


def _printed(digits: int, exponent: int) -> Decimal:
    return Decimal(digits).scaleb(exponent)


def _escaped(data: bytes) -> str:
    return "".join(
        _ESCAPES.get(byte) or (chr(byte) if byte in _PRINTABLE else f"\\x{byte:02x}")
        for byte in data
    )
