"""The text of a PDF, by the format's own rules."""

import base64
import re
import zlib

__all__ = ["bare", "shown"]

_STREAM = re.compile(
    rb"/Filter \[ /ASCII85Decode /FlateDecode \].*?stream\r?\n(.*?)endstream", re.DOTALL
)
_SHOWN = re.compile(rb"\(((?:[^()\\]|\\.)*)\) Tj", re.DOTALL)
_ESCAPED = re.compile(rb"\\([0-7]{3}|.)", re.DOTALL)


def character(found):
    code = found[1]
    return bytes([int(code, 8)]) if len(code) == 3 else code


def shown(file):
    """The text of a PDF by the format's own rules, without any blank."""
    text = ""
    for stream in _STREAM.findall(file):
        # The end mark `~>` may be torn by the wrapping of lines.
        digits = b"".join(stream.split()).partition(b"~")[0]
        content = zlib.decompress(base64.a85decode(digits))
        for one in _SHOWN.findall(content):
            text += _ESCAPED.sub(character, one).decode("cp1252")
    return bare(text)


def bare(text):
    return re.sub(r"\s", "", text.replace("−", "–"))  # noqa: RUF001
