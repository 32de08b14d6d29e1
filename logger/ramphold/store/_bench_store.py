"""The bench from its records: certificates, checks, wear, the control sand, the shaker."""

from typing import Any

from ramphold.sample import (
    BENCH_KINDS,
    NEWEST_CONTROLS,
    BenchRecord,
    Blank,
    ControlPoint,
    Equipment,
    EquipmentChecked,
    Shaking,
    bench_record,
    by_run,
    control_points,
    kind_name,
    laboratory_precision,
    sample_record,
    standing_shakings,
)
from ramphold.store._connection import StoreConnection
from ramphold.store._record_store import RecordStore

# Whatever went on the shaker more records ago than this was forgotten there.
_SHAKEN_SINCE = 2000
_BENCH_KINDS = ", ".join(f"'{kind_name(kind)}'" for kind in BENCH_KINDS)
_CRUSHES = (
    "SELECT count(*) FROM records JOIN runs ON runs.specimen = records.specimen "
    "WHERE kind = 'specimen' AND body ->> '$.cell' = :name AND body ->> '$.cell' <> '' "
    "AND started_utc_ns > :since AND state = 'complete'"
)
# Each sieve analysis weighs a sieve once with what it holds: the one that was chosen, or, where
# none was, one of its number. After a crush the pan is weighed under the sieve that was chosen, or
# one of the finer number of the sample's size. A sieve of the cut is used once for each choice.
_SIEVINGS = (
    "SELECT count(*) FROM records use LEFT JOIN records receipt "
    "ON receipt.sample = use.sample AND receipt.kind = 'sample' WHERE CASE use.kind "
    "WHEN 'sieve' THEN use.body ->> '$.use' = 'cut' AND use.body ->> '$.serial' = :name "
    "ELSE use.body ->> '$.load' <> 'tare' AND use.body ->> '$.corrects' IS NULL "
    "AND CASE use.body ->> '$.test' WHEN 'sieve analysis' THEN use.body ->> '$.item' = :sieve "
    "AND ifnull((SELECT body ->> '$.serial' FROM records WHERE kind = 'sieve' "
    "AND sample = use.sample AND id < use.id AND body ->> '$.use' = 'sieve analysis' "
    "AND body ->> '$.sieve' = CAST(:sieve AS INTEGER) ORDER BY id DESC LIMIT 1), :name) = :name "
    "WHEN 'crush' THEN use.body ->> '$.item' = 'pan' AND ifnull((SELECT body ->> '$.serial' "
    "FROM records WHERE kind = 'sieve' AND sample = use.sample AND id < use.id "
    "AND body ->> '$.use' = 'after the crush' ORDER BY id DESC LIMIT 1), :name) = :name "
    "AND substr(receipt.body ->> '$.size', instr(receipt.body ->> '$.size', '/') + 1) = :sieve "
    "END END AND use.kind IN ('mass', 'sieve') AND use.body ->> '$.utc_ns' > :since"
)
_CHOICES = (
    "SELECT count(*) FROM records WHERE kind = 'instrument' "
    "AND body ->> '$.instrument' = :name AND body ->> '$.utc_ns' > :since"
)
_USES = {
    Equipment.CELL: _CRUSHES,
    Equipment.SIEVE: _SIEVINGS,
    Equipment.INSTRUMENT: _CHOICES,
}


class BenchStore:
    """The bench, put together from its records.

    Every method raises a StoreError where the database can't be read.
    """

    def __init__(self, connection: StoreConnection, records: RecordStore) -> None:
        self._connection = connection
        self._records = records
        self._told_before: dict[
            int, tuple[list[tuple[Any, ...]], tuple[ControlPoint, ...], tuple[Blank, ...]]
        ] = {}

    def record(self) -> BenchRecord:
        """The bench, with its own precision and the blanks of all samples."""
        found = self._records.where(f"sample IS NULL AND kind IN ({_BENCH_KINDS})")
        laboratory = laboratory_precision(self.control_points(NEWEST_CONTROLS))
        return bench_record(found, self._uses, laboratory, self._blanks())

    def control_points(self, newest: int = -1) -> tuple[ControlPoint, ...]:
        """The specimens of the newest control samples, or of all, the oldest run first."""
        rows = self._connection.rows(
            "SELECT sample FROM records WHERE kind = 'sample' AND body ->> '$.role' = 'control' "
            "ORDER BY id DESC LIMIT ?",
            (newest,),
        )
        return by_run(point for (sample,) in rows for point in self._told(sample)[0])

    def shakings(self) -> tuple[Shaking, ...]:
        """The shakings that have not ended, the earliest planned end first."""
        return standing_shakings(
            self._records.where(
                "id > (SELECT max(id) FROM records) - ? "
                "AND kind IN ('shaking', 'shaking end', 'mass', 'exclusion')",
                _SHAKEN_SINCE,
            )
        )

    def _blanks(self) -> tuple[Blank, ...]:
        """The blanks of the newest samples that have any, oldest first."""
        rows = self._connection.rows(
            "SELECT DISTINCT sample FROM records WHERE kind = 'specimen' AND sample IS NOT NULL "
            "AND body ->> '$.target_psi' = 0 ORDER BY sample DESC LIMIT ?",
            (NEWEST_CONTROLS,),
        )
        return tuple(blank for (sample,) in reversed(rows) for blank in self._told(sample)[1])

    def _told(self, sample: int) -> tuple[tuple[ControlPoint, ...], tuple[Blank, ...]]:
        """What a sample tells others: its specimens as control points, and its blanks.

        Read anew only after a record was added to it, since every sample asks for all of them.
        """
        newest = self._connection.rows("SELECT max(id) FROM records WHERE sample = ?", (sample,))
        held = self._told_before.get(sample)
        if held is None or held[0] != newest:
            records = self._records
            found = sample_record(records.of_sample(sample), BenchRecord(), records.chain(sample))
            held = newest, control_points([found]), found.blanks
            self._told_before[sample] = held
        return held[1:]

    def _uses(self, check: EquipmentChecked, since_utc_ns: int) -> int:
        sql = _USES[check.equipment]
        given = {"name": check.name, "sieve": str(check.sieve), "since": since_utc_ns}
        ((count,),) = self._connection.rows(sql, given)
        return int(count)
