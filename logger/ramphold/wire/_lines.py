"""Splits a stream of bytes into lines, with bounded memory; never raises."""

from collections.abc import Callable
from typing import Generic, TypeVar

from msgspec import Struct

#: Longest line in bytes; the longest known shape has 22.
LINE_LIMIT = 120

F = TypeVar("F")


class Line(Struct, frozen=True, kw_only=True, gc=False):
    """A line without its terminator; an overlong one is truncated at the limit."""

    data: bytes
    overlong: bool = False


class LineSplitter:
    """Splits a stream at CR, LF or CR LF, and drops empty lines.

    The lines do not depend on how the bytes are chunked. A line longer than `limit` bytes is
    returned once, when it passes the limit, and the rest of it is dropped.
    """

    def __init__(self, limit: int = LINE_LIMIT) -> None:
        self._limit = limit
        self._held = b""
        self._dropping = False

    def feed(self, data: bytes) -> list[Line]:
        """The lines that `data` completes; the bytes after the last terminator are held back."""
        lines: list[Line] = []
        *ended, rest = data.replace(b"\r", b"\n").split(b"\n")
        for piece in ended:
            if piece:
                self._hold(piece, lines)
            if self._held:
                lines.append(Line(data=self._held))
            self._held, self._dropping = b"", False
        if rest:
            self._hold(rest, lines)
        return lines

    def _hold(self, piece: bytes, lines: list[Line]) -> None:
        if self._dropping:
            return
        self._held += piece
        if len(self._held) > self._limit:
            lines.append(Line(data=self._held[: self._limit], overlong=True))
            self._held, self._dropping = b"", True


class LineDecoder(Generic[F]):
    """Decodes a stream of bytes in which each line is a frame, or is skipped.

    Args:
        decode: makes the frame of a line, or None to skip it; never raises.
        garbled: makes the frame of a line that is too long.
        limit: the longest line in bytes.
        doubt_first: whether the first line is garbled, because it may be the tail of one.
    """

    def __init__(
        self,
        decode: Callable[[bytes], F | None],
        garbled: Callable[[bytes], F],
        *,
        limit: int = LINE_LIMIT,
        doubt_first: bool = False,
    ) -> None:
        self._splitter = LineSplitter(limit)
        self._decode = decode
        self._garbled = garbled
        self._doubtful = doubt_first

    def feed(self, data: bytes) -> list[F]:
        """The frames that `data` completes."""
        lines = self._splitter.feed(data)
        return [frame for line in lines if (frame := self._frame(line)) is not None]

    def _frame(self, line: Line) -> F | None:
        doubtful, self._doubtful = self._doubtful, False
        return self._garbled(line.data) if line.overlong or doubtful else self._decode(line.data)
