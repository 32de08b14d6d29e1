"""Everything that is kept, table by table, for general tools."""

import itertools
from collections.abc import Iterator
from typing import Any

from ramphold.errors import InputError
from ramphold.store._connection import StoreConnection
from ramphold.store._schema_made import KINDS, select_kind

_PAGE = 10_000

#: The tables, each with the key that orders it.
_KEPT = {
    "runs": "id",
    "commands": "run, seq",
    "events": "run, seq",
    "records": "id",
}
#: A record's own text and its link; the other columns follow from the text.
_RECORDS = "id, sample, body, link"


class TableStore:
    """Tables by name: the tables of the schema, and one for each kind of record."""

    def __init__(self, connection: StoreConnection) -> None:
        self._connection = connection

    @property
    def names(self) -> tuple[str, ...]:
        """Every table; the readings are in the traces of the runs."""
        return (*_KEPT, *KINDS)

    def rows(self, name: str) -> tuple[tuple[str, ...], Iterator[tuple[Any, ...]]]:
        """A table's columns and its rows, in order.

        Raises:
            InputError: there is no table of that name.
            StoreError: it could not be read.
        """
        if name in KINDS:
            sql = f"{select_kind(KINDS[name])} ORDER BY id"
        elif name in _KEPT:
            columns = _RECORDS if name == "records" else "*"
            sql = f"SELECT {columns} FROM {name} ORDER BY {_KEPT[name]}"  # noqa: S608 - ours
        else:
            raise InputError(f"there is no table {name!r}: expected one of {', '.join(self.names)}")
        with self._connection.errors():
            cursor = self._connection.db.execute(sql)
        return tuple(column[0] for column in cursor.description), self._pages(cursor)

    def _pages(self, cursor: Any) -> Iterator[tuple[Any, ...]]:  # noqa: ANN401 - sqlite3's own
        def page() -> list[tuple[Any, ...]]:
            with self._connection.errors():
                return list(cursor.fetchmany(_PAGE))

        return itertools.chain.from_iterable(iter(page, []))
