"""The runs as they are asked for: a page of them, or one with its specimen and its events.

Each function serves one method, in the store's thread, at a time in ns UTC.
"""

from ramphold.control.methods import ById, Page, RunDetail, RunEvent, Runs
from ramphold.store import Store

__all__ = ["run", "runs"]


def runs(store: Store, wanted: Page, utc_ns: int) -> Runs:
    """Runs, newest first."""
    del utc_ns
    return Runs(runs=tuple(store.runs.page(wanted.before, wanted.limit)))


def run(store: Store, wanted: ById, utc_ns: int) -> RunDetail:
    """One run with its specimen and its events.

    Raises:
        InputError: there is no such run.
    """
    del utc_ns
    kept, events = store.runs.one(wanted.id), store.runs.events(wanted.id)
    return RunDetail(
        run=kept,
        specimen=store.specimens.one(kept.specimen),
        events=tuple(RunEvent.of(kept.id, seq, event) for seq, event in enumerate(events)),
    )
