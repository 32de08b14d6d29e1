"""Samples as the archive has them, put together just as on their bench."""

from collections.abc import Iterator
from typing import TypeVar

from ramphold.collector._series_standing import Standing
from ramphold.collector.archive import Archive
from ramphold.core.trace import Trace
from ramphold.errors import InputError, WireError
from ramphold.sample import (
    BENCH_KINDS,
    CRUSH,
    NEWEST_CONTROLS,
    SIEVING,
    BenchRecord,
    Blank,
    Chain,
    ControlPoint,
    Equipment,
    EquipmentChecked,
    Load,
    MassTaken,
    People,
    PersonAdded,
    PersonRetired,
    Record,
    Role,
    RunFinished,
    SampleReceived,
    SampleRecord,
    SieveChosen,
    SieveUse,
    SpecimenAdded,
    bench_record,
    control_points,
    kind_name,
    laboratory_precision,
    sample_record,
)
from ramphold.wire import decode_body, link, signature_finding
from ramphold.wire.packed_trace import trace_sha256, unpack_trace

R = TypeVar("R", bound=Record)


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

    def record(self) -> SampleRecord:
        """The whole sample.

        Raises:
            InputError: no record of it was collected.
        """
        return self._record(self.number, self.bench())

    def bench(self) -> BenchRecord:
        """Its bench, with the laboratory's own precision and the blanks of all samples."""
        held = self._of_kinds(*BENCH_KINDS)
        laboratory = laboratory_precision(self._control_points())
        return bench_record(held, self._uses, laboratory, self._blanks())

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

    def findings(self) -> Iterator[str]:
        """What was changed in the archive, a sentence each."""
        before, last = "", 0
        people, waiting = People(), self._of_kinds(PersonAdded, PersonRetired)
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
                yield from self._run_findings(record)

    def _run_findings(self, record: RunFinished) -> Iterator[str]:
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
            trace = unpack_trace(held.trace)
        except WireError as error:
            yield f"run {record.run}: its trace can't be read: {error}"
            return
        if (len(trace), trace_sha256(trace)) != (record.readings, record.trace_sha256):
            yield f"run {record.run}: its readings are not those that were recorded"

    def _record(self, sample: int, bench: BenchRecord) -> SampleRecord:
        rows = self._archive.bodies(self.series, sample)
        if not rows:
            raise InputError(f"there is no sample {sample} of that bench")
        records = [decode_body(body) for _, body, _, _ in rows]
        chain = Chain(records=len(rows), newest=rows[-1][0], sha256=rows[-1][3])
        return sample_record(records, bench, chain)

    def _of_kinds(self, *kinds: type[R]) -> list[R]:
        bodies = self._archive.bodies_of_kinds(self.series, map(kind_name, kinds))
        decoded: list[Record] = [decode_body(body) for body in bodies]
        return [one for one in decoded if isinstance(one, kinds)]

    def _control_points(self) -> tuple[ControlPoint, ...]:
        received = self._of_kinds(SampleReceived)
        controls = [one.sample for one in received if one.role is Role.CONTROL]
        nothing = BenchRecord()
        return control_points(
            self._record(sample, nothing)
            for sample in reversed(controls[-NEWEST_CONTROLS:])
            if sample is not None
        )

    def _blanks(self) -> tuple[Blank, ...]:
        found = {
            one.sample: None
            for one in self._of_kinds(SpecimenAdded)
            if one.sample is not None and not one.target_psi
        }
        return tuple(
            blank
            for sample in sorted(one for one in found if one is not None)[-NEWEST_CONTROLS:]
            for blank in self._record(sample, BenchRecord()).blanks
        )

    def _uses(self, check: EquipmentChecked, since_utc_ns: int) -> int:
        if check.equipment is Equipment.CELL:
            return self._crushes(check.name, since_utc_ns)
        return self._sievings(check, since_utc_ns)

    def _crushes(self, name: str, since_utc_ns: int) -> int:
        there = {one.specimen for one in self._of_kinds(SpecimenAdded) if name and one.cell == name}
        return sum(
            one.specimen in there and one.state == "complete" and one.started_utc_ns > since_utc_ns
            for one in self._of_kinds(RunFinished)
        )

    def _sievings(self, check: EquipmentChecked, since_utc_ns: int) -> int:
        # As `store._bench_store` counts them.
        finer = {one.sample: one.size.partition("/")[2] for one in self._of_kinds(SampleReceived)}
        chosen: dict[int | None, str] = {}
        count, sieve = 0, str(check.sieve)
        uses: list[MassTaken | SieveChosen] = [
            *self._of_kinds(MassTaken),
            *self._of_kinds(SieveChosen),
        ]
        for one in sorted(uses, key=lambda use: use.record):
            if isinstance(one, SieveChosen):
                is_use = one.use is SieveUse.CUT and one.serial == check.name
                if one.use is SieveUse.AFTER_CRUSH:
                    chosen[one.sample] = one.serial
            elif one.load is Load.TARE or one.corrects is not None:
                is_use = False
            elif one.test == SIEVING:
                is_use = one.item == sieve
            else:
                is_use = (
                    (one.test, one.item) == (CRUSH, "pan")
                    and finer.get(one.sample) == sieve
                    and chosen.get(one.sample, check.name) == check.name
                )
            count += is_use and one.utc_ns > since_utc_ns
        return count


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
