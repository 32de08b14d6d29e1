"""What the runs of each person on each press taught, as far as it is not forgotten."""

from dataclasses import dataclass

from ramphold.store._connection import StoreConnection

# SQLite takes the other columns of a group from the row with the greatest value.
_TAUGHT = """
    SELECT runs.operator, specimens.body ->> '$.press' AS press, max(runs.id),
        runs.ended_utc_ns, events.body
    FROM events JOIN runs ON runs.id = events.run
    JOIN records AS specimens
        ON specimens.kind = 'specimen' AND specimens.specimen = runs.specimen
    WHERE events.kind = 'HandLearned' AND NOT EXISTS (
        SELECT 1 FROM records AS forgotten
        WHERE forgotten.kind = 'hand forgotten' AND forgotten.sample IS NULL
            AND forgotten.body ->> '$.hand' = runs.operator
            AND forgotten.body ->> '$.press' = specimens.body ->> '$.press'
            AND forgotten.body ->> '$.up_to_run' >= runs.id
    )
"""
_GROUPED = " GROUP BY runs.operator, press ORDER BY press, runs.operator"


@dataclass(frozen=True, slots=True, kw_only=True)
class TaughtRow:
    """The newest that a person's runs on a press taught, as it is kept.

    Attributes:
        operator: initials of the person.
        press: name of the press.
        run: the run that taught it.
        utc_ns: when that run ended, UTC in ns.
        body: its event, as JSON.
    """

    operator: str
    press: str
    run: int
    utc_ns: int
    body: str


class HandStore:
    """Every method raises a StoreError where the database can't be read."""

    def __init__(self, connection: StoreConnection) -> None:
        self._connection = connection

    def all(self) -> list[TaughtRow]:
        """The newest of each person on each press."""
        return self._rows("")

    def one(self, operator: str, press: str) -> TaughtRow | None:
        """The newest of a person on a press; None where there is nothing."""
        found = self._rows(" AND runs.operator = ? AND press = ?", operator, press)
        return found[0] if found else None

    def newest_run(self) -> int:
        """Number of the newest run of all, live or ended; 0 before the first."""
        ((newest,),) = self._connection.rows("SELECT ifnull(max(id), 0) FROM runs")
        return int(newest)

    def _rows(self, condition: str, *values: str) -> list[TaughtRow]:
        rows = self._connection.rows(f"{_TAUGHT}{condition}{_GROUPED}", values)
        names = TaughtRow.__slots__
        return [TaughtRow(**dict(zip(names, row, strict=True))) for row in rows]
