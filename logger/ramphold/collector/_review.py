"""A second look at what was refused: a newer version may read what an older one could not."""

import contextlib

from ramphold.collector._archive import Archive
from ramphold.collector._arrivals import EventArrived, Outcome, StateArrived
from ramphold.collector._filing import Receipts
from ramphold.collector._ingest import ingest
from ramphold.errors import WireError
from ramphold.wire import Receipt

__all__ = ["review"]

_BATCH = 20


def review(archive: Archive, after: int, utc_ns: int) -> tuple[int | None, Receipts]:
    """Look at some messages in quarantine once more, and file those that can be read now.

    The rest stays as it is, forks too.

    Args:
        archive: where they are.
        after: number of the last that was looked at, 0 at first.
        utc_ns: now.

    Returns:
        The number of the last that was looked at, None after all were; what to tell the benches.

    Raises:
        StoreError: the archive could not be reached or written; what was filed before stays so.
    """
    numbers = archive.refused(after, _BATCH)
    taken: dict[tuple[str, str], list[int]] = {}
    for number in numbers:
        filed = _filed(archive, number, utc_ns)
        if filed is not None:
            taken.setdefault((filed.bench, filed.series), []).append(filed.record)
    receipts = {key: Receipt(series=key[1], taken=tuple(found)) for key, found in taken.items()}
    return (numbers[-1] if numbers else None), receipts


def _filed(archive: Archive, number: int, utc_ns: int) -> EventArrived | None:
    message = archive.refused_message(number)
    arrived = ingest(*message) if message else None
    if not isinstance(arrived, EventArrived | StateArrived):
        return None
    # What the database itself refuses, it refuses again.
    with contextlib.suppress(WireError), archive.transaction():
        if isinstance(arrived, StateArrived):
            # An old word: the broker keeps the bench's newest, and gives that to us anyway.
            archive.release(number)
        elif archive.file([arrived], utc_ns) != [Outcome.FORK]:
            archive.release(number)
            return arrived
    return None
