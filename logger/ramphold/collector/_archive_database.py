"""The interface of the archive's database; SQLite and PostgreSQL each implement it.

Statements are written once, in the SQL that both understand. Where they differ, a statement uses
SQLite's words and PostgreSQL's side translates them: `?` for a value, and the names of types. Both
translate `UTC(column)`, a time in ns as text, `DEC(column, places)`, a rounded number, and
`FIELD(column, path)`, the text in a JSON object at a path such as `signed.name`.
"""

from collections.abc import Sequence
from contextlib import AbstractContextManager
from typing import Any, Protocol

Row = tuple[Any, ...]


class Database(Protocol):
    """An open database. It belongs to the thread that opened it.

    Every method raises StoreError if the database cannot be reached, read or extended, and
    WireError if it refuses the values: a retry would not help.
    """

    name: str

    def transaction(self) -> AbstractContextManager[None]:
        """Commit everything written inside, or nothing."""

    def snapshot(self) -> AbstractContextManager[None]:
        """Read everything inside as of one moment."""

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[Row]:
        """All rows of a query."""

    def write(self, sql: str, values: Sequence[Any] = ()) -> int:
        """Run one statement; returns the number of changed rows."""

    def one_at_a_time(self) -> None:
        """Until the transaction ends, block others that call this."""

    def keep_rows(self, table: str) -> None:
        """Make the database itself refuse to change or delete rows of a table."""

    def close(self) -> None:
        """Close it; it may be closed already."""
