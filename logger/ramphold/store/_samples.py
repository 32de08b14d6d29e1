"""Samples: received, listed, and put together whole from their chains."""

from msgspec import structs

from ramphold.core import as_trace
from ramphold.errors import CommandRefused, InputError
from ramphold.sample import (
    BENCH_KINDS,
    NEWEST_CONTROLS,
    BenchRecord,
    ControlPoint,
    Equipment,
    Record,
    SampleReceived,
    SampleRecord,
    SampleState,
    Trace,
    bench_record,
    control_points,
    kind_name,
    laboratory_spread,
    sample_record,
    state_of,
)
from ramphold.store._records import RecordRows, append_record
from ramphold.store._runs import RunRows

__all__ = ["SampleRows"]

_CRUSHES = (
    "SELECT count(*) FROM specimens JOIN runs ON runs.specimen = specimens.id "
    "WHERE cell = ? AND cell <> '' AND started_utc_ns > ? AND state = 'complete'"
)
# Each sieving weighs a sieve once with what it holds.
_SIEVINGS = (
    "SELECT count(*) FROM records WHERE kind = 'mass' AND body ->> '$.test' = 'sieve analysis' "
    "AND body ->> '$.item' = ? AND body ->> '$.utc_ns' > ? AND body ->> '$.load' <> 'tare' "
    "AND body ->> '$.corrects' IS NULL"
)


class SampleRows(RecordRows, RunRows):
    """A sample is its records; a row only says which number and laboratory number it has."""

    def add_sample(self, received: SampleReceived) -> SampleReceived:
        """Keep a new sample; its record, with the sample's number.

        Raises:
            CommandRefused: there is one of that laboratory number.
            StoreError: it could not be kept.
        """
        there = self.find_sample(received.laboratory_number)
        if there is not None:
            raise CommandRefused(
                f"there is a sample {received.laboratory_number} already: give another number"
            )
        with self._connection.transaction():
            number = self._connection.write(
                "INSERT INTO samples (laboratory_number) VALUES (?)", (received.laboratory_number,)
            )
            return append_record(self._connection, structs.replace(received, sample=number))

    def find_sample(self, laboratory_number: str) -> int | None:
        """The number of the sample of a laboratory number, if there is one.

        Raises:
            StoreError: it could not be read.
        """
        rows = self._connection.rows(
            "SELECT id FROM samples WHERE laboratory_number = ?", (laboratory_number,)
        )
        return rows[0][0] if rows else None

    def samples(
        self, before: int | None = None, limit: int = 50
    ) -> list[tuple[SampleReceived, SampleState]]:
        """The newest samples first, as they were received, and where each stands.

        Raises:
            StoreError: they could not be read.
        """
        rows = self._connection.rows(
            "SELECT id FROM samples WHERE id < ifnull(?, 1 << 62) ORDER BY id DESC LIMIT ?",
            (before, limit),
        )
        return [(self.received(number), self._state(number)) for (number,) in rows]

    def received(self, sample: int) -> SampleReceived:
        """What a sample was received as.

        Raises:
            InputError: there is no such sample.
            StoreError: it could not be read.
        """
        for one in self.records_of_kind(SampleReceived, sample):
            return one
        raise InputError(f"there is no sample {sample}")

    def sample_record(self, sample: int, *, spread: bool = False) -> SampleRecord:
        """A whole sample.

        Args:
            sample: its number.
            spread: whether to work out the laboratory's own spread for it, from the control sand.

        Raises:
            InputError: there is no such sample.
            StoreError: it could not be read.
        """
        records = self.records(sample)
        if not records:
            raise InputError(f"there is no sample {sample}")
        return sample_record(records, self.bench_record(spread=spread), self.chain(sample))

    def bench_record(self, *, spread: bool = False) -> BenchRecord:
        """Certificates, checks, cylinders, wear and warnings of the bench, its spread if wanted.

        Raises:
            StoreError: it could not be read.
        """
        laboratory = laboratory_spread(self.control_points()) if spread else None
        return bench_record(self._bench(), self._uses, laboratory)

    def control_points(self) -> tuple[ControlPoint, ...]:
        """What the newest control samples gave, the oldest run first.

        Raises:
            StoreError: it could not be read.
        """
        rows = self._connection.rows(
            "SELECT sample FROM records WHERE kind = 'sample' AND body ->> '$.role' = 'control' "
            "ORDER BY id DESC LIMIT ?",
            (NEWEST_CONTROLS,),
        )
        nothing = BenchRecord()
        return control_points(
            sample_record(self.records(sample), nothing, self.chain(sample)) for (sample,) in rows
        )

    def trace(self, run: int) -> Trace:
        """The load of a run over time.

        Raises:
            InputError: there is no such run.
            StoreError: it could not be read.
        """
        record = self.run(run)
        return as_trace(run, self.readings(run), record.started_t_ns, record.plan.area_in2)

    def _state(self, sample: int) -> SampleState:
        rows = self._connection.rows(
            "SELECT kind FROM records WHERE sample = ? ORDER BY id", (sample,)
        )
        return state_of([kind for (kind,) in rows])

    def _bench(self) -> list[Record]:
        kinds = [kind_name(kind) for kind in BENCH_KINDS]
        where = "WHERE sample IS NULL AND kind IN (?, ?, ?, ?, ?) ORDER BY id"
        return self._decoded(where, *kinds)

    def _uses(self, kind: Equipment, name: str, since_utc_ns: int) -> int:
        sql = _CRUSHES if kind is Equipment.CELL else _SIEVINGS
        ((count,),) = self._connection.rows(sql, (name, since_utc_ns))
        return int(count)
