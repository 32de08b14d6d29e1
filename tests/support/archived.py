"""Checked records and states, changed and stored for tests."""

from msgspec import structs

from ramphold.collector._archive_writing import keep_state
from ramphold.collector._message_check import check_message
from ramphold.collector._message_filing import IncomingMessage
from ramphold.wire import Envelope


def changed(one, **what):
    """The same record in another message."""
    return structs.replace(one, message=structs.replace(one.message, **what))


def keep(archive, state, said_utc_ns, utc_ns, *, bench="p1"):
    """Store a state with the time at which the bench wrote it and the time of its arrival."""
    envelope = Envelope(
        bench=bench, series="a" * 32, number=0, utc_ns=said_utc_ns, subject="state", message=state
    )
    with archive.transaction():
        return keep_state(archive.database, envelope, state, utc_ns)


def arrived(topic, payload):
    """A message as it came, checked."""
    return IncomingMessage(topic, payload, check_message(topic, payload))
