"""The bench from its records: certificates, checks, wear, the control sand, the shaker."""

from ramphold.sample import (
    BENCH_KINDS,
    NEWEST_CONTROLS,
    BenchRecord,
    Blank,
    ControlPoint,
    Equipment,
    EquipmentChecked,
    SampleRecord,
    Shaking,
    bench_record,
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
# Each sieve analysis weighs a sieve once with what it holds; nobody records which one of a number
# it was. After a crush the pan is weighed under the sieve that was chosen, or, where none was,
# under one of the finer number of the sample's size. A sieve of the cut is used once for each
# choice.
_SIEVINGS = (
    "SELECT count(*) FROM records use LEFT JOIN records receipt "
    "ON receipt.sample = use.sample AND receipt.kind = 'sample' WHERE CASE use.kind "
    "WHEN 'sieve' THEN use.body ->> '$.use' = 'cut' AND use.body ->> '$.serial' = :name "
    "ELSE use.body ->> '$.load' <> 'tare' AND use.body ->> '$.corrects' IS NULL "
    "AND CASE use.body ->> '$.test' WHEN 'sieve analysis' THEN use.body ->> '$.item' = :sieve "
    "WHEN 'crush' THEN use.body ->> '$.item' = 'pan' AND ifnull((SELECT body ->> '$.serial' "
    "FROM records WHERE kind = 'sieve' AND sample = use.sample AND id < use.id "
    "AND body ->> '$.use' = 'after the crush' ORDER BY id DESC LIMIT 1), :name) = :name "
    "AND substr(receipt.body ->> '$.size', instr(receipt.body ->> '$.size', '/') + 1) = :sieve "
    "END END AND use.kind IN ('mass', 'sieve') AND use.body ->> '$.utc_ns' > :since"
)


class BenchStore:
    """The bench, put together from its records.

    Every method raises a StoreError where the database can't be read.
    """

    def __init__(self, connection: StoreConnection, records: RecordStore) -> None:
        self._connection = connection
        self._records = records

    def record(self, *, spread: bool = False) -> BenchRecord:
        """The bench; with `spread` also its own precision and the blanks, which cost a reading."""
        found = self._records.where(f"sample IS NULL AND kind IN ({_BENCH_KINDS})")
        if not spread:
            return bench_record(found, self._uses)
        laboratory = laboratory_precision(self.control_points(NEWEST_CONTROLS))
        return bench_record(found, self._uses, laboratory, self._blanks())

    def control_points(self, newest: int = -1) -> tuple[ControlPoint, ...]:
        """The specimens of the newest control samples, or of all, the oldest run first."""
        rows = self._connection.rows(
            "SELECT sample FROM records WHERE kind = 'sample' AND body ->> '$.role' = 'control' "
            "ORDER BY id DESC LIMIT ?",
            (newest,),
        )
        return control_points(self._bare(sample) for (sample,) in rows)

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
        return tuple(blank for (sample,) in reversed(rows) for blank in self._bare(sample).blanks)

    def _bare(self, sample: int) -> SampleRecord:
        """A sample without its bench."""
        records = self._records
        return sample_record(records.of_sample(sample), BenchRecord(), records.chain(sample))

    def _uses(self, check: EquipmentChecked, since_utc_ns: int) -> int:
        sql = _CRUSHES if check.equipment is Equipment.CELL else _SIEVINGS
        given = {"name": check.name, "sieve": str(check.sieve), "since": since_utc_ns}
        ((count,),) = self._connection.rows(sql, given)
        return int(count)
