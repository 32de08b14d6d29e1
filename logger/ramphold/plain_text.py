"""Names and texts without characters that a terminal obeys or that move and hide the others.

These are control characters (NUL, ESC), formatting characters (bidirectional overrides, zero-width
spaces), line separators, lone surrogates, and what Unicode has not assigned or leaves to private
use: the general categories Cc, Cf, Cs, Zl, Zp, Cn and Co of the Unicode standard, chapter 4.5.
"""

import unicodedata
from collections.abc import Iterator
from typing import Any, TextIO

from ramphold.errors import InputError

_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_SHOWN = 60
_FORMULA = ("=", "+", "-", "@")


def hidden(text: str, allowed: str = "") -> str:
    """The first hidden character of a text, but for allowed ones; empty if there is none."""
    if text.isprintable():
        return ""
    return next((c for c in text if _is_hidden(c) and c not in allowed), "")


def visible(text: str, allowed: str = "") -> str:
    """Text with hidden characters shown as code points in angle brackets."""
    if text.isprintable():
        return text
    return "".join(
        f"‹U+{ord(c):04X}›" if _is_hidden(c) and c not in allowed else c  # noqa: RUF001 - brackets
        for c in text
    )


def check_plain(value: object, where: str, allowed: str = "") -> None:
    """Check every text in a value of plain types, keys too.

    Raises:
        InputError: one has a hidden character.
    """
    for text in _texts(value):
        if found := hidden(text, allowed):
            shown = visible(text)[:_SHOWN]
            raise InputError(f"{where}: {shown}: expected printable text, not U+{ord(found):04X}")


def harmless_cell(value: Any) -> Any:  # noqa: ANN401 - whatever a cell of a table holds
    """The value; a text that a spreadsheet would run as a formula with an apostrophe before it."""
    if isinstance(value, str) and value.lstrip().startswith(_FORMULA):
        return f"'{value}"
    return value


class VisibleStream:
    """A terminal as a text file: what is written to it moves no cursor and hides nothing.

    Args:
        terminal: where it goes, with line ends and tabs as they are.
    """

    def __init__(self, terminal: TextIO) -> None:
        self._terminal = terminal

    def write(self, text: str) -> int:
        """Write text with hidden characters shown."""
        self._terminal.write(visible(text, "\n\t"))
        return len(text)

    def writelines(self, lines: Any) -> None:  # noqa: ANN401 - as TextIO has it
        """Write texts one after the other."""
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever else a file does
        return getattr(self._terminal, name)


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, one in value.items():
            yield from _texts(key)
            yield from _texts(one)
    elif isinstance(value, list | tuple | set | frozenset):
        for one in value:
            yield from _texts(one)


def _is_hidden(character: str) -> bool:
    return unicodedata.category(character) in _HIDDEN
