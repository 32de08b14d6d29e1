"""CSV tables with given columns. Every error names file, row and column."""

import csv
import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.plain_text import check_plain

# Far more than an hour of readings; keeps a device file or a disk image out of memory.
_MOST_BYTES = 64 * 1024 * 1024
_OTHER_MARK = re.compile(r"[;\t]")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity)", re.ASCII | re.IGNORECASE)
_SHOWN = 40
_NOT_READ: dict[type[OSError], str] = {
    FileNotFoundError: "does not exist: expected a CSV file",
    IsADirectoryError: "is a folder: expected a CSV file",
    PermissionError: "may not be read: permission denied",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvRow:
    """One row under the header.

    Attributes:
        path: the name of the file, as given.
        line: the number of the row in the file, counting the header and blank lines.
        cells: the text of each cell, stripped, by column name.
    """

    path: str
    line: int
    cells: dict[str, str]

    def text(self, column: str) -> str:
        """The cell's text.

        Raises:
            InputError: the cell is empty, or has a hidden character.
        """
        text = self.cells[column]
        if not text:
            raise self.error(column, "the cell is empty")
        check_plain(text, f"{self.path} row {self.line}, {column}")
        return text

    def number(
        self,
        column: str,
        *,
        minimum: float = -math.inf,
        above: float = -math.inf,
        maximum: float = math.inf,
    ) -> float:
        """The cell's number.

        Args:
            column: the cell's column.
            minimum: least number accepted.
            above: it must be greater than this.
            maximum: greatest number accepted.

        Raises:
            InputError: the cell is empty, not a finite number, or out of bounds.
        """
        text = self.text(column)
        if not _NUMBER.fullmatch(text) and not _NOT_FINITE.fullmatch(text):
            comma = (
                " with a point, not a comma," if _NUMBER.fullmatch(text.replace(",", ".")) else ""
            )
            raise self.error(
                column, f"{_shown(text)} is not a number: expected one{comma} such as 12.5"
            )
        value = float(text)
        if not math.isfinite(value):
            raise self.error(column, f"{_shown(text)} is not a finite number")
        if value < minimum:
            raise self.error(column, f"{_shown(text)} is too low: expected {minimum:g} or more")
        if value <= above:
            raise self.error(column, f"{_shown(text)} is too low: expected more than {above:g}")
        if value > maximum:
            raise self.error(column, f"{_shown(text)} is too high: expected {maximum:g} or less")
        return value

    def error(self, column: str, what: str) -> InputError:
        """An error for the caller to raise, with file, row and column."""
        return InputError(f"{self.path} row {self.line}, {column}: {what}")


def read_table(path: str, columns: Sequence[str], others: Sequence[str] = ()) -> list[CsvRow]:
    """Read a CSV file with exactly these columns, in any order, or these and all others.

    Cells and column names are stripped. A byte order mark and blank rows are ignored. There is at
    least one row.

    Raises:
        InputError: the file cannot be read, is no CSV text, has another header or no rows, or a
            row has too few or too many cells.
    """
    lines = csv.reader(io.StringIO(_read_text(path), newline=""), strict=True)
    wanted = ",".join(columns)
    header: list[str] | None = None
    rows = []
    try:
        for raw in lines:
            cells = [cell.strip() for cell in raw]
            if not any(cells):
                continue
            if header is None:
                whole = [*columns, *others]
                expected = whole if len(cells) == len(whole) else columns
                header = _checked_header(path, lines.line_num, cells, expected)
            elif len(cells) != len(header):
                raise InputError(
                    f"{path} row {lines.line_num}: {len(cells)} cells, "
                    f"expected {len(header)} ({','.join(header)})"
                )
            else:
                rows.append(
                    CsvRow(
                        path=path, line=lines.line_num, cells=dict(zip(header, cells, strict=True))
                    )
                )
    except csv.Error as error:
        raise InputError(f"{path} row {lines.line_num}: not CSV ({error})") from None
    if header is None:
        raise InputError(f"{path} is empty: expected a CSV file with the header {wanted}")
    if not rows:
        raise InputError(f"{path} has no rows under its header {','.join(header)}")
    return rows


def _checked_header(path: str, line: int, cells: list[str], columns: Sequence[str]) -> list[str]:
    if len(cells) == 1 and len(columns) > 1 and (mark := _OTHER_MARK.search(cells[0])):
        raise InputError(
            f"{path} row {line}: its columns are separated by {mark[0]!r}: expected commas between "
            f"them ({','.join(columns)}) and points in the numbers"
        )
    if sorted(cells) != sorted(columns):
        raise InputError(
            f"{path} row {line}: the header is {_shown(','.join(cells))}, "
            f"expected {','.join(columns)}"
        )
    return cells


def _read_text(path: str) -> str:
    try:
        with open(path, "rb") as file:  # noqa: PTH123 - errors name the path as given
            data = file.read(_MOST_BYTES + 1)
    except OSError as error:
        said = _NOT_READ.get(type(error), f"can't be read: {error.strerror}")
        raise InputError(f"{path} {said}") from None
    if len(data) > _MOST_BYTES:
        raise InputError(f"{path} is too big for a table: expected at most 64 MiB")
    if 0 in data:
        raise InputError(f"{path} row {_line_of(data, data.index(0))}: a NUL byte, expected text")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = _line_of(data, error.start)
        raise InputError(f"{path} row {line}: not UTF-8 text, expected a CSV file") from None


def _line_of(data: bytes, offset: int) -> int:
    return data.count(b"\n", 0, offset) + 1


def _shown(text: str) -> str:
    return repr(text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…")
