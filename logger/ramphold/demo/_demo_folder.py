"""The folder of a demo: held by one demo at a time, and the time at which the next one goes on."""

import contextlib
import fcntl
from collections.abc import Iterator
from pathlib import Path

from ramphold.clock import NS_PER_S
from ramphold.errors import LinkError, StoreError
from ramphold.store import Store

#: The bench's time zero.
EPOCH_UTC_NS = 1_767_261_600 * NS_PER_S  # 2026-01-01 10:00 UTC, any day would do
_BETWEEN_NS = 60 * NS_PER_S


@contextlib.contextmanager
def held_folder(folder: Path) -> Iterator[None]:
    """Hold a folder while a demo works in it; the kernel lets go of it with the process.

    Raises:
        LinkError: another demo holds it, or it can't be written.
    """
    try:
        lock = (folder / "demo.lock").open("ab")
    except OSError as error:
        raise LinkError(f"{folder} can't be written: {error.strerror}") from None
    with lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise LinkError(
                f"{folder}: a demo runs there: name another folder, or `ramphold watch` to see it"
            ) from None
        yield


def goes_on_at_ns(database: Path) -> int:
    """When a demo goes on: a minute after all that its database holds, in ns since time zero."""
    try:
        with contextlib.closing(Store.read(database)) as store:
            known_ns = list(_known_utc_ns(store))
    except StoreError:
        return 0  # there is none yet, or the daemon says what is wrong with it
    return max(known_ns) - EPOCH_UTC_NS + _BETWEEN_NS if known_ns else 0


def _known_utc_ns(store: Store) -> Iterator[int]:
    if newest := store.records.newest():
        yield store.records.one(newest).utc_ns
    if head := store.heads.newest():
        yield head.utc_ns
    for run in store.runs.page(limit=1):
        yield run.started_utc_ns
        for reading in store.runs.readings(run.id)[-1:]:
            yield run.started_utc_ns + reading.t_ns - run.started_t_ns
