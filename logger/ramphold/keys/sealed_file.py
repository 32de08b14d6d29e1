"""A report that carries its own seal, behind the bytes that were recorded as issued.

The seal is a comment of the file's format, in a line of its own after the last one. A reader of
PDF looks for the table of objects from the end of the file, so the last three lines, which say
where that is, stand once more behind it:

    HTML    what was issued, <!-- seal -->
    PDF     what was issued, %seal, the last three lines of what was issued
"""

from ramphold.errors import InputError
from ramphold.keys.record_seal import SEAL_MARK, RecordSeal, read_seal

_HTML, _PDF = b"<!DOCTYPE html", b"%PDF-"
_PDF_END_LINES = 3


def seal_lines(issued: bytes, seal: RecordSeal) -> bytes:
    """What follows the bytes of an issued report.

    Raises:
        InputError: they are no HTML and no PDF of ours.
    """
    line = seal.text().encode()
    if not issued.endswith(b"\n"):
        raise InputError("no report: expected its last line to be whole")
    if issued.startswith(_HTML):
        return b"<!-- " + line + b" -->\n"
    if issued.startswith(_PDF):
        return b"%" + line + b"\n" + b"\n".join(issued.rsplit(b"\n", _PDF_END_LINES + 1)[1:])
    raise InputError("no report: expected an HTML or PDF file of `ramphold report --issue`")


def issued_bytes(file: bytes) -> bytes:
    """The bytes of a file before its seal; all of it if there is none."""
    at = file.rfind(SEAL_MARK.encode())
    return file if at < 0 else file[: file.rfind(b"\n", 0, at) + 1]


def carried_seal(file: bytes) -> RecordSeal | None:
    """The seal that a file carries; None if it carries none.

    Raises:
        InputError: it was damaged, or something else stands beside it.
    """
    issued = issued_bytes(file)
    if issued == file:
        return None
    line = file[len(issued) :].split(b"\n", 1)[0].removeprefix(b"<!-- ").removeprefix(b"%")
    seal = read_seal(line.removesuffix(b" -->").decode("ascii", "replace"))
    if issued + seal_lines(issued, seal) != file:
        raise InputError("something other than its seal follows the report")
    return seal


def may_carry_seal(file: bytes) -> bool:
    """Whether a file's format has room for a seal; any other has it in a file beside it."""
    return file.startswith((_HTML, _PDF))
