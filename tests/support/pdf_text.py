"""The text of a PDF, by the format's own rules."""

import base64
import re
import zlib

__all__ = ["attached", "bare", "objects", "page_contents", "shown"]

_OBJECT = re.compile(rb"^(\d+) 0 obj\s(.*?)\bendobj\b", re.DOTALL | re.MULTILINE)
_STREAM = re.compile(rb"stream\r?\n(.*?)endstream", re.DOTALL)
_TOKEN = re.compile(rb"/(F[\d+]+) [\d.]+ Tf|\(((?:[^()\\]|\\.)*)\) Tj", re.DOTALL)
_ESCAPED = re.compile(rb"\\([0-7]{3}|.)", re.DOTALL)
_CODES = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}


def objects(file):
    """The body of each object by its number."""
    return {int(number): body for number, body in _OBJECT.findall(file)}


def content(body):
    """What the stream of an object holds."""
    held = _STREAM.search(body)[1]
    if b"/ASCII85Decode" in body:
        # The end mark `~>` may be torn by the wrapping of lines.
        held = base64.a85decode(b"".join(held.split()).partition(b"~")[0])
    return zlib.decompress(held) if b"/FlateDecode" in body else held


def page_contents(file):
    """The operators of each page, in order."""
    held = objects(file)
    (pages,) = (body for body in held.values() if re.search(rb"/Type /Pages\b", body))
    kids = re.search(rb"/Kids \[([^\]]*)\]", pages)[1]
    for number in re.findall(rb"(\d+) 0 R", kids):
        at = re.search(rb"/Contents (\d+) 0 R", held[int(number)])[1]
        yield content(held[int(at)])


def character(found):
    code = found[1]
    return bytes([int(code, 8)]) if len(code) == 3 else _CODES.get(code, code)


def letters(held):
    """What each code of each font stands for, by its map to Unicode."""
    (fonts,) = (body for body in held.values() if re.search(rb"/F\d\+0 \d+ 0 R", body))
    found = {}
    for name, number in re.findall(rb"/(F[\d+]+) (\d+) 0 R", fonts):
        font = held[int(number)]
        to_unicode = re.search(rb"/ToUnicode (\d+) 0 R", font)
        if to_unicode is None:
            continue
        of = found[name] = {}
        text = content(held[int(to_unicode[1])]).partition(b"beginbfchar")[2]
        for code, unit in re.findall(rb"^<(\w+)> <(\w+)>$", text, re.MULTILINE):
            of[int(code, 16)] = bytes.fromhex(unit.decode()).decode("utf-16-be")
    return found


def shown(file):
    """The text of a PDF by the format's own rules, without any blank."""
    of = letters(objects(file))
    text = ""
    for page in page_contents(file):
        font = {}
        for name, one in _TOKEN.findall(page):
            if name:
                font = of.get(name, {})
            else:
                text += "".join(font[code] for code in _ESCAPED.sub(character, one))
    return bare(text)


def attached(file):
    """The name of the attached file, and what it holds."""
    held = objects(file)
    (spec,) = (body for body in held.values() if b"/Type /Filespec" in body)
    name = re.search(rb"/UF \(([^)]*)\)", spec)[1].decode()
    return name, content(held[int(re.search(rb"/EF <<\s*/F (\d+) 0 R", spec)[1])]).decode()


def bare(text):
    return re.sub(r"\s", "", text)
