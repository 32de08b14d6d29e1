"""Samples as the archive has them, put together just as on their bench."""

from collections.abc import Iterator

from ramphold.collector._series_standing import Standing
from ramphold.collector.archive import Archive
from ramphold.collector.archived_bench import ArchivedBench, UsesRead
from ramphold.core.trace import Trace
from ramphold.errors import InputError, WireError
from ramphold.sample import (
    BenchRecord,
    People,
    PersonAdded,
    PersonRetired,
    RunFinished,
    SampleRecord,
)
from ramphold.wire import decode_body, link, packed_digest, signature_finding
from ramphold.wire.packed_trace import trace_sha256, unpack_trace

_DISPUTED = """SELECT 1 FROM benches b WHERE b.series = ? AND b.standing = 'disputed' AND EXISTS (
    SELECT 1 FROM events e WHERE e.series = b.series AND e.sample = ? AND NOT EXISTS (
        SELECT 1 FROM events o
        WHERE o.series = b.against AND o.record = e.record AND o.link = e.link))"""


class ArchivedSample:
    """One sample of one series, with its bench.

    Args:
        archive: where it is.
        series: a series of the bench.
        number: the sample's number there.
    """

    def __init__(self, archive: Archive, series: str, number: int) -> None:
        self._archive = archive
        self._bench = ArchivedBench(archive, series)
        self.series = series
        self.number = number

    @property
    def disputed(self) -> bool:
        """Whether its series contradicts another, and tells this sample in other words or alone."""
        return bool(self._archive.database.rows(_DISPUTED, (self.series, self.number)))

    def notes(self) -> Iterator[tuple[str, str]]:
        """Title and text of what the reader of a report must know of the archive."""
        ((vouched,),) = self._archive.database.rows(
            "SELECT vouched FROM benches WHERE series = ?", (self.series,)
        )
        if vouched < max(row[0] for row in self._archive.bodies(self.series, self.number)):
            yield (
                "Not vouched for",
                "No accepted key of the bench has signed all records of this sample.",
            )
        if self.disputed:
            yield (
                "Disputed",
                "The records contradict others that were filed before, and nobody has decided yet.",
            )
        elif self._archive.database.rows(
            "SELECT 1 FROM benches WHERE standing = 'disputed' AND against = ?", (self.series,)
        ):
            yield (
                "Another story has arrived",
                "A later numbering contradicts this bench's. It is kept apart; nobody has decided.",
            )

    def record(self, bench: BenchRecord | None = None) -> SampleRecord:
        """The whole sample.

        Args:
            bench: what `bench` gave before, where that still holds.

        Raises:
            InputError: no record of it was collected.
        """
        found = self._bench.sample(self.number, bench or self.bench())
        if found is None:
            raise InputError(f"there is no sample {self.number} of that bench")
        return found

    def bench(self, read: UsesRead | None = None) -> BenchRecord:
        """Its bench, with the laboratory's own precision and the blanks of all samples.

        Args:
            read: what was read of the bench's uses before; what is new is added to it.
        """
        if read is None:
            return self._bench.record()
        ((filed, newest),) = self._archive.database.rows(
            "SELECT filed, newest FROM benches WHERE series = ?", (self.series,)
        )
        read.go_on(filed, newest)
        return ArchivedBench(self._archive, self.series, read).record()

    def bench_name(self) -> str:
        """The name of its bench."""
        sql = "SELECT bench FROM benches WHERE series = ?"
        return str(self._archive.database.rows(sql, (self.series,))[0][0])

    def trace(self, run: int) -> Trace:
        """The trace of a run, with times since its start; empty if it cannot be read."""
        try:
            held = self._archive.run(self.series, run)
            return unpack_trace(held.trace).since(held.rows.started_t_ns) if held else Trace()
        except (InputError, WireError):
            return Trace()

    def findings(self, *, by_csv: bool = True) -> Iterator[str]:
        """What was changed in the archive, a sentence each.

        Args:
            by_csv: whether to hash the CSV text of each trace, too, as anybody can with an export;
                the packed trace is hashed in any case, which takes a tenth of the time.
        """
        before, last = "", 0
        people, waiting = People(), self._bench.of_kinds(PersonAdded, PersonRetired)
        for number, body, previous, stored in self._archive.bodies(self.series, self.number):
            if previous != before:
                yield f"records of the sample between {last} and {number} are missing or changed"
            if link(previous, body.encode()) != stored:
                yield f"record {number} of sample {self.number} was changed"
            before, last = stored, number
            record = decode_body(body)
            while waiting and waiting[0].record < number:
                people.take(waiting.pop(0))
            if wrong := signature_finding(people, record, previous, body):
                yield wrong
            if isinstance(record, RunFinished):
                yield from self.run_findings(record, by_csv=by_csv)

    def run_findings(self, record: RunFinished, *, by_csv: bool = True) -> Iterator[str]:
        """What was changed in the archive of one run; as in `findings`."""
        changed = f"run {record.run}: plan, commands, events or assessment were changed"
        try:
            held = self._archive.run(self.series, record.run)
        except WireError:
            yield changed
            return
        if held is None:
            yield f"run {record.run}: its trace is missing"
            return
        if held.rows.sha256() != record.record_sha256:
            yield changed
        try:
            same = packed_digest(held.trace, record.readings) == record.packed_sha256
            if by_csv:
                same = same and trace_sha256(unpack_trace(held.trace)) == record.trace_sha256
        except WireError as error:
            yield f"run {record.run}: its readings are not those that were recorded: {error}"
            return
        if not same:
            yield f"run {record.run}: its readings are not those that were recorded"


def find_sample(archive: Archive, number: str, bench: str | None = None) -> ArchivedSample:
    """A sample by its laboratory number, or as `#7` with its bench.

    Args:
        archive: where to look.
        number: the laboratory number, or `#` and the number on the bench.
        bench: name or series of its bench, if several benches have such a sample.

    Raises:
        InputError: there is none, or more than one.
    """
    if number.startswith("#") and number[1:].isdecimal():
        where = "kind = 'sample' AND sample = ?"
        value: int | str = int(number[1:])
    else:
        where, value = "laboratory_number = ?", number
    rows = archive.database.rows(
        f"SELECT e.bench, e.series, e.sample, f.standing FROM events e "  # noqa: S608 - ours
        f"LEFT JOIN benches_in_force f ON f.series = e.series WHERE {where} ORDER BY 1, 2",
        (value,),
    )
    if bench is None:
        found = [row for row in rows if row[3] is not None]
    else:
        found = [row for row in rows if bench == row[1]] or [
            row for row in rows if bench == row[0] and row[3] is not None
        ]
    # A disputed series takes the place of none that is not.
    found = [row for row in found if row[3] == Standing.IN_FORCE] or found
    if not found:
        raise InputError(f"there is no sample {number} in {archive.name}")
    if len(found) > 1:
        whose = ", ".join(f"{name} ({series})" for name, series, *_ in found)
        raise InputError(f"sample {number} is there more than once: name one, --bench: {whose}")
    return ArchivedSample(archive, found[0][1], found[0][2])
