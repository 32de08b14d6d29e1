"""Everything that is kept, table by table, as general tools want it."""

import itertools
from collections.abc import Iterator
from typing import Any

from ramphold.errors import InputError
from ramphold.sample import Record
from ramphold.store._connection import Connection
from ramphold.store._schema_samples import view_name

__all__ = ["TableRows"]

_PAGE = 10_000

#: What is kept in rows, and the key that a table is in order of.
_KEPT = {
    "samples": "id",
    "specimens": "id",
    "runs": "id",
    "commands": "run, seq",
    "events": "run, seq",
    "records": "id",
}
_VIEWS = {view_name(kind): "record" for kind in Record.__args__}
#: A record's own text and its link; what else the table shows follows from the text.
_RECORDS = "id, sample, body, link"


class TableRows:
    """Tables by name: those of rows, and one for each kind of record."""

    _connection: Connection

    @property
    def table_names(self) -> tuple[str, ...]:
        """Every table there is; readings are in the traces of runs."""
        return (*_KEPT, *_VIEWS)

    def table(self, name: str) -> tuple[tuple[str, ...], Iterator[tuple[Any, ...]]]:
        """A table's columns and its rows, in order.

        Raises:
            InputError: there is no table of that name.
            StoreError: it could not be read.
        """
        order = (_KEPT | _VIEWS).get(name)
        if order is None:
            raise InputError(
                f"there is no table {name!r}: expected one of {', '.join(self.table_names)}"
            )
        columns = _RECORDS if name == "records" else "*"
        sql = f"SELECT {columns} FROM {name} ORDER BY {order}"  # noqa: S608 - names of our own
        with self._connection.errors():
            cursor = self._connection.db.execute(sql)
        return tuple(column[0] for column in cursor.description), self._pages(cursor)

    def _pages(self, cursor: Any) -> Iterator[tuple[Any, ...]]:  # noqa: ANN401 - sqlite3's own
        def page() -> list[tuple[Any, ...]]:
            with self._connection.errors():
                return list(cursor.fetchmany(_PAGE))

        return itertools.chain.from_iterable(iter(page, []))
