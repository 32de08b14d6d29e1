"""Files quarantined messages that a newer version can read, once they have been checked again."""

import contextlib
from collections.abc import Iterable
from typing import TypeAlias

from ramphold.collector._archive_writing import Outcome, file_records
from ramphold.collector._message_check import CheckedMessage, CheckedRecord, RefusedMessage
from ramphold.collector._message_filing import Receipts, Sender, receipts_of
from ramphold.collector.archive import Archive
from ramphold.collector.archive_quarantine import quarantine, release
from ramphold.errors import WireError
from ramphold.wire import Envelope, StateMessage

_Filed: TypeAlias = tuple[Sender, int] | None


def file_retried(
    archive: Archive, checked: Iterable[tuple[int, CheckedMessage]], utc_ns: int
) -> Receipts:
    """File those of these quarantined messages that are good now; the rest stays, and so do forks.

    Args:
        archive: where they are.
        checked: number of each in quarantine, and what its check made of it.
        utc_ns: now.

    Returns:
        What to tell the benches.

    Raises:
        StoreError: the archive cannot be reached or written; what was filed before stays filed.
    """
    filed = [_retry(archive, number, message, utc_ns) for number, message in checked]
    return receipts_of(filter(None, filed))


def _retry(archive: Archive, number: int, checked: CheckedMessage, utc_ns: int) -> _Filed:
    # A message that the database itself refuses is refused again.
    with contextlib.suppress(WireError), archive.transaction():
        match checked:
            case RefusedMessage(poison=True):
                # Noted, so that it is not read once more at the next start.
                quarantine(archive.database, [checked], utc_ns)
            case Envelope(message=StateMessage()):
                # An old state: the broker keeps the newest one and sends it to us anyway.
                release(archive.database, number)
            case CheckedRecord():
                if file_records(archive.database, [checked], utc_ns) != [Outcome.FORK]:
                    release(archive.database, number)
                    return (checked.bench, checked.series), checked.number
    return None
