"""The bench from its records: certificates, checks, wear, the control sand, the shaker."""

from ramphold.sample import (
    BENCH_KINDS,
    NEWEST_CONTROLS,
    BenchRecord,
    ControlPoint,
    Equipment,
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
    "WHERE kind = 'specimen' AND body ->> '$.cell' = ? AND body ->> '$.cell' <> '' "
    "AND started_utc_ns > ? AND state = 'complete'"
)
# Each sieve analysis weighs a sieve once with what it holds. After a crush the pan is weighed under
# the finer sieve of the sample's size.
_SIEVINGS = (
    "SELECT count(*) FROM records mass JOIN records receipt "
    "ON receipt.sample = mass.sample AND receipt.kind = 'sample' "
    "WHERE mass.kind = 'mass' AND ? = CASE mass.body ->> '$.test' "
    "WHEN 'sieve analysis' THEN mass.body ->> '$.item' WHEN 'crush' "
    "THEN iif(mass.body ->> '$.item' = 'pan', substr(receipt.body ->> '$.size', "
    "instr(receipt.body ->> '$.size', '/') + 1), '') END "
    "AND mass.body ->> '$.utc_ns' > ? AND mass.body ->> '$.load' <> 'tare' "
    "AND mass.body ->> '$.corrects' IS NULL"
)


class BenchStore:
    """The bench, put together from its records.

    Every method raises a StoreError where the database can't be read.
    """

    def __init__(self, connection: StoreConnection, records: RecordStore) -> None:
        self._connection = connection
        self._records = records

    def record(self, *, spread: bool = False) -> BenchRecord:
        """Certificates, checks, cylinders, wear and warnings of the bench, its spread if wanted."""
        found = self._records.where(f"sample IS NULL AND kind IN ({_BENCH_KINDS})")
        laboratory = None
        if spread:
            laboratory = laboratory_precision(self.control_points(NEWEST_CONTROLS))
        return bench_record(found, self._uses, laboratory)

    def control_points(self, newest: int = -1) -> tuple[ControlPoint, ...]:
        """The specimens of the newest control samples, or of all, the oldest run first."""
        rows = self._connection.rows(
            "SELECT sample FROM records WHERE kind = 'sample' AND body ->> '$.role' = 'control' "
            "ORDER BY id DESC LIMIT ?",
            (newest,),
        )
        nothing, records = BenchRecord(), self._records
        return control_points(
            sample_record(records.of_sample(sample), nothing, records.chain(sample))
            for (sample,) in rows
        )

    def shakings(self) -> tuple[Shaking, ...]:
        """The shakings that have not ended, the earliest planned end first."""
        return standing_shakings(
            self._records.where(
                "id > (SELECT max(id) FROM records) - ? "
                "AND kind IN ('shaking', 'shaking end', 'mass', 'exclusion')",
                _SHAKEN_SINCE,
            )
        )

    def _uses(self, kind: Equipment, name: str, since_utc_ns: int) -> int:
        sql = _CRUSHES if kind is Equipment.CELL else _SIEVINGS
        ((count,),) = self._connection.rows(sql, (name, since_utc_ns))
        return int(count)
