"""Checks quarantined messages again: a newer version may read what an older one could not."""

import contextlib
from typing import TypeAlias

from ramphold.collector._archive_writing import Outcome, file_records, release
from ramphold.collector._message_check import CheckedRecord, check_message
from ramphold.collector._message_filing import Receipts, Sender, receipts_of
from ramphold.collector.archive import Archive
from ramphold.errors import WireError
from ramphold.wire import Envelope, StateMessage

_BATCH = 20

_Filed: TypeAlias = tuple[Sender, int] | None


def retry_quarantine(archive: Archive, after: int, utc_ns: int) -> tuple[int | None, Receipts]:
    """Check a few quarantined messages again, and file those that are good now.

    The rest stays as it is, and so do forks.

    Args:
        archive: where they are.
        after: number of the last message checked before; 0 at first.
        utc_ns: now.

    Returns:
        The number of the last message checked, None after the last of all; what to tell the
        benches.

    Raises:
        StoreError: the archive cannot be reached or written; what was filed before stays filed.
    """
    messages = archive.refused(after, _BATCH)
    filed = [_retry(archive, *message, utc_ns) for message in messages]
    return (messages[-1][0] if messages else None), receipts_of(filter(None, filed))


def _retry(archive: Archive, number: int, topic: str, payload: bytes, utc_ns: int) -> _Filed:
    checked = check_message(topic, payload)
    # A message that the database itself refuses is refused again.
    with contextlib.suppress(WireError), archive.transaction():
        match checked:
            case Envelope(message=StateMessage()):
                # An old state: the broker keeps the newest one and sends it to us anyway.
                release(archive.database, number)
            case CheckedRecord():
                if file_records(archive.database, [checked], utc_ns) != [Outcome.FORK]:
                    release(archive.database, number)
                    return (checked.bench, checked.series), checked.number
    return None
