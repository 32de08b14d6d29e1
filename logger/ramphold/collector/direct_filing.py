"""Files messages that are at hand, without a broker; in no other way than those that arrive."""

from collections.abc import Sequence

from ramphold.collector._filed_trees import FiledTrees
from ramphold.collector._message_check import check_message
from ramphold.collector._message_filing import IncomingMessage, file_messages
from ramphold.collector._result_tables import work_out
from ramphold.collector.archive import Archive
from ramphold.wire import Receipt

_AT_A_TIME = 100


def file_directly(
    archive: Archive, messages: Sequence[tuple[str, bytes]], utc_ns: int
) -> list[Receipt]:
    """Check messages, file them, and compare what the benches signed with what is filed.

    Args:
        archive: where to.
        messages: topic and payload of each, in the order in which they were sent.
        utc_ns: when they arrived.

    Returns:
        What the benches would be told, which says what was taken and what was refused.

    Raises:
        StoreError: the archive cannot be written.
    """
    told: list[Receipt] = []
    for begin in range(0, len(messages), _AT_A_TIME):
        incoming = [
            IncomingMessage(topic, payload, check_message(topic, payload))
            for topic, payload in messages[begin : begin + _AT_A_TIME]
        ]
        told += file_messages(archive, incoming, utc_ns).receipts.values()
    with archive.transaction():
        FiledTrees(None).take_all(archive.database, archive.benches(), utc_ns)
    return told


def work_out_results(archive: Archive) -> None:
    """Compute the results of every sample that has new records.

    Raises:
        StoreError: the archive cannot be written.
    """
    while work_out(archive, _AT_A_TIME):
        pass
