"""What people signed at a bench: verified when it is filed, and shown in full."""

import pytest
from msgspec import structs

from ramphold.collector._archive_writing import file_records
from ramphold.collector._message_check import RefusedMessage, check_message
from ramphold.collector._result_tables import work_out
from ramphold.collector.archive_audit import archive_findings
from ramphold.collector.archived_sample import find_sample
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.person_key import OpenedKey, Signer
from ramphold.sample import PersonAdded, PersonRetired, ReportIssued, Reviewed
from ramphold.wire import link, pack_envelope
from support.benches import FilledBench

TOPIC = "ramphold/1/p1/record"


@pytest.fixture(scope="module")
def sent(tmp_path_factory):
    """The envelopes of a bench where MB signs once the first sample is reviewed by initials."""
    bench = FilledBench(tmp_path_factory.mktemp("bench") / "bench.sqlite3")
    sample = bench.sample("26-0417", stresses=[8000.0], replicates=1)
    key = SigningKey.generate()
    who = {"initials": "MB", "name": "M. Brandt", "function": "manager", "key": key.public}
    opened = OpenedKey(Signer(**who, added_utc_ns=1), key)
    act = {"operator": "MB", "utc_ns": 9}
    records = bench.store.records
    records.append_signed(PersonAdded(**act, **who), opened)
    records.append_signed(Reviewed(**act, sample=sample), opened)
    records.append_signed(ReportIssued(**act, sample=sample, revision=1), opened)
    records.append_signed(PersonRetired(**act, initials="MB", key=key.public), opened)
    outbox = bench.store.outbox
    envelopes = [outbox.envelope("p1", number) for number in range(1, records.newest() + 1)]
    bench.close()
    return envelopes


def filed(archive, envelopes):
    checked = [check_message(TOPIC, pack_envelope(one)) for one in envelopes]
    with archive.transaction():
        file_records(archive.database, checked, 8)
    while work_out(archive):
        pass


def retold(envelope, old, new):
    """The envelope with a text of its record changed, and its own link worked out again."""
    message = envelope.message
    body = message.body.replace(old, new)
    assert body != message.body
    own = link(message.previous, body.encode())
    changed = structs.replace(message, body=body, link=own)
    return type(envelope)(**{name: getattr(envelope, name) for name in (
        "bench", "series", "number", "utc_ns", "subject")}, message=changed)  # fmt: skip


def test_the_archive_shows_who_signed_in_full_and_what_initials_are_all_there_is(
    archive, sent, look
):
    filed(archive, sent)
    assert look(
        "SELECT act, operator, name, function, signature FROM signatures ORDER BY record"
    ) == [
        ("review", "MB", None, None, "initials only, not signed"),
        ("review", "MB", "M. Brandt", "manager", "signed"),
        ("report", "MB", "M. Brandt", "manager", "signed"),
    ]  # fmt: skip
    assert look("SELECT bench, laboratory_number FROM signatures LIMIT 1") == [("p1", "26-0417")]
    assert look("SELECT initials, name, function, vouched_by, retired FROM people") == [
        ("MB", "M. Brandt", "manager", "nobody", "1970-01-01 00:00:00")
    ]
    assert list(archive_findings(archive)) == []
    assert list(find_sample(archive, "26-0417").findings()) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [('"operator":"MB"', '"operator":"XX"'), ("M. Brandt", "K. Lund"), ("manager", "director"),
     ('"revision":1', '"revision":2'), ('"utc_ns":9', '"utc_ns":8')],
)  # fmt: skip
def test_a_record_that_is_not_what_its_person_signed_is_not_filed(sent, old, new):
    changed = retold(sent[-2], old, new)
    refused = check_message(TOPIC, pack_envelope(changed))
    assert isinstance(refused, RefusedMessage)
    assert (refused.code, refused.record) == ("hash", changed.number)
    assert "signed" in refused.reason


def test_a_record_without_the_signature_that_it_needs_is_found_in_the_archive(archive, sent):
    start = sent[-2].message.body.index('"signed":{')
    end = sent[-2].message.body.index("}", start) + 1
    signed = sent[-2].message.body[start:end]
    filed(archive, [*sent[:-2], retold(sent[-2], signed, '"signed":null')])
    (found,) = archive_findings(archive)
    assert "report by MB, is not signed, and people sign at this bench since record" in found
    assert "is not signed" in " ".join(find_sample(archive, "26-0417").findings())
