"""Runs: their readings, commands and events, and how each ended.

The input of a run and the events that follow from it are committed together and in order, so that
a daemon that dies leaves a run as it was at one moment.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ramphold.core import (
    ENDED,
    Assessment,
    Command,
    Event,
    Reading,
    RunPlan,
    RunState,
    StateChanged,
    Trigger,
    next_state,
)
from ramphold.core.trace import Trace
from ramphold.errors import CommandRefused, InputError, StoreError
from ramphold.store._connection import StoreConnection
from ramphold.store._readings import pack_readings, read_trace, write_readings
from ramphold.store._record_store import RecordStore
from ramphold.store._run_finished import run_finished
from ramphold.store._sample_store import SpecimenStore
from ramphold.wire import (
    RunRecord,
    decode_assessment,
    decode_command,
    decode_event,
    decode_plan,
    encode_record,
    kind_of,
)

#: A command with how many readings came before it, and its monotonic time in ns.
GivenCommand = tuple[int, int, Command]

#: How the rows of a run are written, by the press and out of an archive alike.
ADD_COMMAND = "INSERT INTO commands VALUES (?, ?, ?, ?, ?)"
ADD_EVENT = "INSERT INTO events VALUES (?, ?, ?, ?, ?)"
END_RUN = "UPDATE runs SET ended_t_ns = ?, ended_utc_ns = ?, assessment = ? WHERE id = ?"

_COLUMNS = RunRecord.__slots__
_MAX = "SELECT max({}) FROM {} WHERE run = ?"


class RunStore:
    """At most one run is live; an ended one never changes.

    Every method raises a StoreError where the database can't be read or written.
    """

    def __init__(
        self, connection: StoreConnection, records: RecordStore, specimens: SpecimenStore
    ) -> None:
        self._connection = connection
        self._records = records
        self._specimens = specimens

    # --- writing -------------------------------------------------------------------------------

    def begin(  # noqa: PLR0913 - what a run begins with
        self,
        *,
        specimen: int,
        operator: str,
        plan: RunPlan,
        t_ns: int,
        utc_ns: int,
        number: int | None = None,
    ) -> int:
        """Keep the start of a run; its number, the next one or the one given.

        Raises:
            CommandRefused: another run is live.
            InputError: there is no such specimen.
        """
        live = self.live()
        if live is not None:
            raise CommandRefused(f"run {live.id} is live: end it first")
        self._specimens.one(specimen)
        text = encode_record(plan).decode()
        with self._connection.transaction():
            return self._connection.write(
                "INSERT INTO runs (id, specimen, operator, plan, state, reason, started_t_ns, "
                "started_utc_ns) VALUES (?, ?, ?, ?, ?, 'started', ?, ?)",
                (number, specimen, operator, text, RunState.READY, t_ns, utc_ns),
            )

    def append(
        self,
        run: int,
        *,
        readings: Sequence[Reading] = (),
        commands: Sequence[GivenCommand] = (),
        events: Sequence[Event] = (),
    ) -> None:
        """Keep the next part of the live run, in one commit.

        Raises:
            StoreError: nothing of it was kept; the same part may be tried again.
        """
        with self._connection.transaction():
            state = self._add(run, readings, commands, events)
            if state in ENDED:
                raise StoreError(f"run {run} is {state}: expected `end` for its last part")

    def end(  # noqa: PLR0913 - the last part and what it came to
        self,
        run: int,
        *,
        readings: Sequence[Reading] = (),
        commands: Sequence[GivenCommand] = (),
        events: Sequence[Event],
        assessment: Assessment,
        utc_ns: int,
    ) -> None:
        """Keep the last part of the live run and how it ended, in one commit.

        Raises:
            StoreError: nothing of it was kept; the same part may be tried again.
        """
        with self._connection.transaction():
            state = self._add(run, readings, commands, events)
            if state not in ENDED:
                raise StoreError(f"run {run} is {state}: expected an event that ends it")
            ended_t_ns = max(e.t_ns for e in events if isinstance(e, StateChanged))
            self._close(run, ended_t_ns, utc_ns, encode_record(assessment).decode())

    def pack(self, most: int = 1) -> tuple[int, ...]:
        """Pack the traces of ended runs whose readings are still rows, the oldest first.

        The space of the rows is returned to the disk.

        Returns:
            Numbers of the runs packed, `most` at most.

        Raises:
            StoreError: a trace could not be kept; its rows are unchanged.
        """
        waiting = self._connection.rows(
            "SELECT id FROM runs WHERE ended_t_ns IS NOT NULL "
            "AND id > (SELECT ifnull(max(run), 0) FROM traces) ORDER BY id LIMIT ?",
            (most,),
        )
        for (run,) in waiting:
            with self._connection.transaction():
                pack_readings(self._connection, run)
        if waiting:
            self._connection.shrink()
        return tuple(run for (run,) in waiting)

    def interrupt_live(self) -> tuple[int, ...]:
        """End the run that a dead daemon left live, at its last committed time."""
        live = self.live()
        if live is None:
            return ()
        last_t_ns = self.last_t_ns(live)
        event = StateChanged(
            t_ns=last_t_ns,
            since_ns=last_t_ns,
            before=live.state,
            after=next_state(live.state, Trigger.DAEMON_DIED),
            reason="the daemon died",
            stress_psi=None,
        )
        with self._connection.transaction():
            self._add(live.id, (), (), (event,))
            # Nobody saw the end: its calendar time follows from the last reading.
            ended_utc_ns = live.started_utc_ns + last_t_ns - live.started_t_ns
            self._close(live.id, last_t_ns, ended_utc_ns, None)
        return (live.id,)

    # --- reading -------------------------------------------------------------------------------

    def one(self, run: int) -> RunRecord:
        """One run.

        Raises:
            InputError: there is none of that number.
        """
        for record in self._where("WHERE id = ?", run):
            return record
        raise InputError(f"there is no run {run}")

    def newest(self) -> int:
        """Number of the newest run; 0 before the first."""
        ((newest,),) = self._connection.rows("SELECT ifnull(max(id), 0) FROM runs")
        return int(newest)

    def counts(self, run: int) -> tuple[int, int, int]:
        """How many readings, commands and events of a run are there."""
        readings = len(self.trace(run))
        return readings, self._next_seq("commands", run), self._next_seq("events", run)

    def last_t_ns(self, run: RunRecord) -> int:
        """Monotonic time of all that is kept of a run whose readings are rows, in ns."""
        tables = ("readings", "commands", "events")
        return max(run.started_t_ns, *(self._last_t_ns(table, run.id) for table in tables))

    def live(self) -> RunRecord | None:
        """The live run, if there is one."""
        return next(iter(self._where("WHERE ended_t_ns IS NULL")), None)

    def page(self, before: int | None = None, limit: int = 50) -> list[RunRecord]:
        """The newest runs first, only those before a number where one is given."""
        return self._where("WHERE id < ifnull(?, 1 << 62) ORDER BY id DESC LIMIT ?", before, limit)

    def of_specimen(self, specimen: int) -> list[RunRecord]:
        """All runs of a specimen in order."""
        return self._where("WHERE specimen = ? ORDER BY id", specimen)

    def readings(self, run: int) -> list[Reading]:
        """All readings of a run in the order they came, each as it came."""
        return self.trace(run).readings()

    def trace(self, run: int) -> Trace:
        """All readings of a run as columns."""
        return read_trace(self._connection, run)

    def commands(self, run: int) -> list[GivenCommand]:
        """All commands of a run in order, as `core.refeed` takes them."""
        with self._connection.errors():
            return [
                (after, t_ns, decode_command(body.encode()))
                for after, t_ns, body in self._connection.rows(
                    "SELECT after_reading, t_ns, body FROM commands WHERE run = ? ORDER BY seq",
                    (run,),
                )
            ]

    def events(self, run: int) -> list[Event]:
        """All events of a run in order."""
        with self._connection.errors():
            return [
                decode_event(body.encode())
                for (body,) in self._connection.rows(
                    "SELECT body FROM events WHERE run = ? ORDER BY seq", (run,)
                )
            ]

    # --- inside --------------------------------------------------------------------------------

    def _add(
        self,
        run: int,
        readings: Sequence[Reading],
        commands: Sequence[GivenCommand],
        events: Sequence[Event],
    ) -> RunState:
        """Write one part inside a transaction; the state that the run then has."""
        if readings:
            write_readings(self._connection, run, self._next_seq("readings", run), readings)
        self._connection.write_many(
            ADD_COMMAND,
            (
                (run, seq, after, t_ns, encode_record(command).decode())
                for seq, (after, t_ns, command) in self._numbered("commands", run, commands)
            ),
        )
        self._connection.write_many(
            ADD_EVENT,
            (
                (run, seq, event.t_ns, kind_of(event), encode_record(event).decode())
                for seq, event in self._numbered("events", run, events)
            ),
        )
        for event in events:
            if isinstance(event, StateChanged):
                self._connection.write(
                    "UPDATE runs SET state = ?, reason = ? WHERE id = ?",
                    (event.after, event.reason, run),
                )
        return self._state(run)

    def _state(self, run: int) -> RunState:
        for (state,) in self._connection.rows("SELECT state FROM runs WHERE id = ?", (run,)):
            return RunState(state)
        raise InputError(f"there is no run {run}")

    def _close(self, run: int, t_ns: int, utc_ns: int, assessment: str | None) -> None:
        self._connection.write(
            END_RUN,
            (t_ns, utc_ns, assessment, run),
        )
        ended = self.one(run)
        sample = self._specimens.one(ended.specimen).sample
        self._records.append(run_finished(self._connection, ended, sample))

    def _numbered(self, table: str, run: int, rows: Iterable[Any]) -> Iterator[tuple[int, Any]]:
        return enumerate(rows, self._next_seq(table, run))

    def _next_seq(self, table: str, run: int) -> int:
        rows = self._connection.rows(_MAX.format("seq", table), (run,))
        return 0 if rows[0][0] is None else int(rows[0][0]) + 1

    def _last_t_ns(self, table: str, run: int) -> int:
        rows = self._connection.rows(_MAX.format("t_ns", table), (run,))
        return int(rows[0][0] or 0)

    def _where(self, condition: str, *values: int | None) -> list[RunRecord]:
        sql = f"SELECT {', '.join(_COLUMNS)} FROM runs {condition}"  # noqa: S608 - ours
        with self._connection.errors():
            return [_run(row) for row in self._connection.rows(sql, values)]


def _run(row: tuple[Any, ...]) -> RunRecord:
    fields = dict(zip(_COLUMNS, row, strict=True))
    assessment = fields["assessment"]
    return RunRecord(
        **fields
        | {
            "plan": decode_plan(fields["plan"].encode()),
            "state": RunState(fields["state"]),
            "assessment": None if assessment is None else decode_assessment(assessment.encode()),
        }
    )
