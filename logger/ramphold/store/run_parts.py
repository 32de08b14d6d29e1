"""Parts of a run that the database refused once, written into it later."""

from typing import Any

from ramphold.errors import WireError
from ramphold.store._run_store import RunStore
from ramphold.wire.run_part import Counts, RunBegun, RunPart


def begin_once(runs: RunStore, begun: RunBegun) -> None:
    """Keep the start of a run under the number that it was given, if it is not kept.

    A run that is still live before it was left so by a dead daemon: it is interrupted.
    """
    if begun.run <= runs.newest():
        return
    runs.interrupt_live()
    runs.begin(
        number=begun.run,
        specimen=begun.specimen,
        operator=begun.operator,
        plan=begun.plan,
        t_ns=begun.t_ns,
        utc_ns=begun.utc_ns,
    )


def take_in(runs: RunStore, part: RunPart) -> None:
    """Write what the database lacks of a part; all of it may be there already.

    Raises:
        WireError: it is of another run of that number, or does not follow what is there.
        StoreError: the database refuses it.
    """
    begun = part.begun
    begin_once(runs, begun)
    run = runs.one(begun.run)
    if (run.started_t_ns, run.started_utc_ns) != (begun.t_ns, begun.utc_ns):
        raise WireError(f"run {run.id} of this database began at another time")
    there = runs.counts(run.id)
    if any(before > have for before, have in zip(part.first, there, strict=True)):
        raise WireError(f"run {run.id} has {there[0]} readings, and these follow {part.first[0]}")
    known = Counts(*there).minus(part.first)
    rows: dict[str, Any] = {
        "readings": part.readings[known.readings :],
        "commands": part.commands[known.commands :],
        "events": part.events[known.events :],
    }
    if not any(rows.values()):
        return
    if run.ended_t_ns is not None:
        raise WireError(f"run {run.id} has ended without these {len(rows['readings'])} readings")
    if part.ended is None:
        runs.append(run.id, **rows)
    else:
        assessment, utc_ns = part.ended
        runs.end(run.id, assessment=assessment, utc_ns=utc_ns, **rows)
