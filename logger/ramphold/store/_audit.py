"""The audit: whether anything was changed outside the program.

Triggers keep other programs from changing a record, but they can be dropped. The chain still shows
an edit, because it breaks a link; forging every later link as well changes the one that the report
prints. A chain cannot show that the newest records were cut off.
"""

from collections.abc import Iterator

from ramphold.core.trace import Trace
from ramphold.errors import InputError, WireError
from ramphold.sample import (
    Chain,
    People,
    Record,
    RunFinished,
    SampleReceived,
)
from ramphold.store._connection import StoreConnection
from ramphold.store._readings import read_trace
from ramphold.store._record_store import ABOUT_PEOPLE
from ramphold.store._run_finished import run_rows
from ramphold.store._schema_made import RULES_THERE, rules_as_made
from ramphold.wire import decode_body, link, signature_finding
from ramphold.wire.packed_trace import trace_sha256

_PAGE = 10_000
_OF_SAMPLE = f"""SELECT id, sample, body, link FROM records
    WHERE sample = ? OR {ABOUT_PEOPLE} ORDER BY id"""  # noqa: S608 - ours


class Audit:
    """One pass over everything that is kept; iterate over `findings` first.

    Attributes:
        chains: the end of each chain, by the sample's number, None for the bench's own.
        links: every link seen, by its hash, with the number of its record.
        records: how many records there are.
        people: who signs at the bench, or has signed.
        traces: the trace of each run, with times since its start, after `findings_of` a sample.
    """

    def __init__(self, connection: StoreConnection) -> None:
        self._connection = connection
        self.chains: dict[int | None, Chain] = {}
        self.links: dict[str, int] = {}
        self.records = 0
        self.people = People()
        self.traces = dict[int, Trace]()
        self._laboratory_numbers: dict[int | None, str] = {}
        self._runs: dict[int, RunFinished] = {}

    @property
    def runs(self) -> int:
        """How many ended runs were checked."""
        return len(self._runs)

    def laboratory_number(self, sample: int) -> str:
        """The laboratory number of a sample; empty where its receipt was not found."""
        return self._laboratory_numbers.get(sample, "")

    def findings(self) -> Iterator[str]:
        """Everything that is not as it was written, one sentence each.

        Raises:
            StoreError: the database can't be read.
        """
        with self._connection.errors():
            yield from self._rules()
            yield from self._chains()
            yield from self._run_rows()
            yield from self._traces()

    def findings_of(self, sample: int) -> Iterator[str]:
        """What of one sample is not as it was written: its chain, and the traces of its runs.

        The readable traces are in `traces` afterwards, so that they are read once.

        Raises:
            StoreError: the database can't be read.
        """
        with self._connection.errors():
            for number, whose, body, stored in self._connection.rows(_OF_SAMPLE, (sample,)):
                if whose is None:
                    yield from self._take_person(number, body)
                else:
                    yield from self._look(number, body, stored)
            yield from self._traces(keep=True)

    def _rules(self) -> Iterator[str]:
        there = dict(self._connection.rows(RULES_THERE))
        for name, sql in rules_as_made().items():
            if name not in there:
                yield f"the rule {name} of the database was removed"
            elif there[name] != sql:
                yield f"the rule {name} of the database was changed"

    def _chains(self) -> Iterator[str]:
        for number, body, stored in self._bodies():
            if number != self.records + 1:
                yield f"records {self.records + 1} to {number - 1} are missing"
            self.records = number
            yield from self._look(number, body, stored)

    def _look(self, number: int, body: str, stored: str) -> Iterator[str]:
        try:
            record = decode_body(body)
        except WireError as error:
            yield f"record {number} can't be read: {error}"
            return
        yield from self._take(number, record, body, stored)

    def _take(self, number: int, record: Record, body: str, stored: str) -> Iterator[str]:
        before = self.chains.get(record.sample) or Chain(records=0, newest=0, sha256="")
        if link(before.sha256, body.encode()) != stored:
            yield (
                f"record {number} of {_whose(record.sample)} does not follow from record "
                f"{before.newest}: one of the two was changed"
            )
        if wrong := signature_finding(self.people, record, before.sha256, body):
            yield wrong
        self.people.take(record)
        # Continuing from the stored link shows each change once.
        self.chains[record.sample] = Chain(records=before.records + 1, newest=number, sha256=stored)
        self.links[stored] = number
        match record:
            case SampleReceived():
                self._laboratory_numbers[record.sample] = record.laboratory_number
            case RunFinished():
                self._runs[record.run] = record

    def _take_person(self, number: int, body: str) -> Iterator[str]:
        try:
            self.people.take(decode_body(body))
        except WireError as error:
            yield f"record {number} can't be read: {error}"

    def _bodies(self) -> Iterator[tuple[int, str, str]]:
        last = 0
        while page := self._connection.rows(
            "SELECT id, body, link FROM records WHERE id > ? ORDER BY id LIMIT ?", (last, _PAGE)
        ):
            yield from page
            last = page[-1][0]

    # --- runs, against their records -----------------------------------------------------------

    def _run_rows(self) -> Iterator[str]:
        sql = (
            f"SELECT id, {', '.join(RUN_FIELDS)} FROM runs WHERE ended_t_ns IS NOT NULL ORDER BY id"  # noqa: S608 - our own words
        )
        for number, *row in self._connection.rows(sql):
            if number not in self._runs:
                yield f"runs: number {number} has a row, and no record"
            elif row != [getattr(self._runs[number], name) for name in RUN_FIELDS]:
                yield f"runs: the row of number {number} is not what its record says"

    def _traces(self, *, keep: bool = False) -> Iterator[str]:
        for number, run in self._runs.items():
            start_ns = self._start_ns(number)
            if start_ns is None:
                yield f"runs: number {number} is recorded, and its row is missing"
                continue
            try:
                trace = read_trace(self._connection, number)
                if keep:
                    self.traces[number] = trace.since(start_ns)
            except (InputError, WireError) as error:
                yield f"run {number}: its trace can't be read: {error}"
                continue
            if (len(trace), trace_sha256(trace)) != (run.readings, run.trace_sha256):
                yield f"run {number}: its readings are not those that were recorded"
            if run_rows(self._connection, number).sha256() != run.record_sha256:
                yield f"run {number}: plan, commands, events or assessment were changed"

    def _start_ns(self, run: int) -> int | None:
        """When an ended run began; None where its row is missing."""
        sql = "SELECT started_t_ns FROM runs WHERE id = ? AND ended_t_ns IS NOT NULL"
        return next((int(start_ns) for (start_ns,) in self._connection.rows(sql, (run,))), None)


#: The fields that a run's row shares with its record.
RUN_FIELDS = ("specimen", "operator", "state", "reason", "started_utc_ns", "ended_utc_ns")


def _whose(sample: int | None) -> str:
    return "the bench" if sample is None else f"sample {sample}"
