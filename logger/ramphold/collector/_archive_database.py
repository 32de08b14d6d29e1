"""What the archive needs of a database; SQLite and PostgreSQL each give it.

Statements are written once, in what the two have in common. What they have not is spelt as SQLite
spells it and put into its own words by the other: `?` for a value, the names of types, and
`UTC(column)` for a time in ns as text, `DEC(column, places)` for a rounded number.
"""

from collections.abc import Iterable, Sequence
from contextlib import AbstractContextManager
from typing import Any, Protocol

__all__ = ["Database", "Row"]

Row = tuple[Any, ...]


class Database(Protocol):
    """An open database. It belongs to the thread that opened it.

    Every method raises StoreError where the database can't be reached, read or grown, and
    WireError where it was reached and refuses the values: trying again would not help.
    """

    name: str

    def transaction(self) -> AbstractContextManager[None]:
        """Commit all that is written inside, or nothing of it."""

    def snapshot(self) -> AbstractContextManager[None]:
        """Read all inside as it stands at one moment."""

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[Row]:
        """All rows of a query."""

    def write(self, sql: str, values: Sequence[Any] = ()) -> int:
        """Run one statement; how many rows it changed."""

    def write_many(self, sql: str, rows: Iterable[Row]) -> None:
        """Run one statement for each row."""

    def one_at_a_time(self) -> None:
        """Until the transaction ends, keep out others that call this, too."""

    def keep_rows(self, table: str) -> None:
        """Have the database itself refuse to change or delete rows of a table."""

    def close(self) -> None:
        """Close it; it may be closed already."""
