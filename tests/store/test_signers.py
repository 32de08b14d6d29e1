"""Whose keys may have signed: the known one, and those that led to it or took its place."""

import pytest
from msgspec import structs

from ramphold.keys.ed25519 import SigningKey, fingerprint
from ramphold.keys.key_change import change_key
from ramphold.keys.signed_head import sign_head
from ramphold.sample import KeyChanged
from ramphold.store import Store
from support.tampering import received, tamper

FIRST, SECOND, OTHER = (SigningKey.from_bytes(bytes([n]) * 32) for n in (1, 2, 3))


def changed(store, old, new, whose="bench"):
    change = change_key(whose, old, new, by="KL", reason="x", utc_ns=5)
    store.records.append(KeyChanged.of(change))


def findings(store, key=None, collector=None):
    audit = store.audit_heads(key=key and key.public, collector=collector and collector.public)
    return list(audit.findings()), audit


def test_a_key_that_was_renewed_signs_up_to_the_record_that_says_so(store):
    store.samples.add(received("26-1"))
    store.heads.sign(FIRST, 10)
    changed(store, FIRST, SECOND)
    store.heads.sign(SECOND, 20)
    for key in (FIRST, SECOND):
        told, audit = findings(store, key)
        assert (told, audit.heads, audit.unsigned) == ([], 2, "")
    store.samples.add(received("26-2"))
    store.heads.keep(sign_head(FIRST, "head", 3, store.heads.root(3), 30))
    (told,) = findings(store, SECOND)[0]
    assert told.endswith(
        f"is signed by key {fingerprint(FIRST.public)[:16]}, which record 2 replaced"
    )


def test_a_key_in_the_place_of_a_lost_one_is_told_by_who_says_so(store):
    store.samples.add(received("26-1"))
    store.heads.sign(FIRST, 10)
    changed(store, FIRST.public, SECOND)
    store.heads.sign(SECOND, 20)
    assert findings(store, SECOND)[0] == []
    (told,) = findings(store, FIRST)[0]
    assert told.endswith("in the place of a lost one, says KL: ask, then name it")


def test_a_receipt_is_right_from_the_known_collector_and_those_before_it(store):
    store.samples.add(received("26-1"))
    changed(store, FIRST, SECOND, "collector")
    for key in (FIRST, SECOND):
        store.heads.keep(sign_head(key, "receipt", 1, store.heads.root(1), 30))
    told, audit = findings(store, collector=SECOND)
    assert (told, audit.receipts) == ([], 2)
    told, _ = findings(store, collector=FIRST)
    assert [one.rpartition(" by ")[2] for one in told] == [
        f"another collector, {fingerprint(SECOND.public)[:16]}"
    ]


def test_a_change_of_another_collector_lets_nobody_sign(store):
    store.samples.add(received("26-1"))
    changed(store, FIRST, OTHER, "collector")
    store.heads.keep(sign_head(FIRST, "receipt", 1, store.heads.root(1), 30))
    assert len(findings(store, collector=SECOND)[0]) == 1


def test_changes_of_a_key_are_found_with_their_records_and_what_can_not_be_read_is_not(store, path):
    store.samples.add(received("26-1"))
    changed(store, FIRST, SECOND)
    changed(store, FIRST, OTHER, "collector")
    changed(store, SECOND, OTHER)
    assert [(n, one.new) for n, one in store.key_changes("bench")] == [
        (2, SECOND.public), (4, OTHER.public),
    ]  # fmt: skip
    assert [number for number, _ in store.key_changes("collector")] == [3]
    store.close()
    tamper(path, "UPDATE records SET body = replace(body, 'reason', 'season') WHERE id = 2")
    with Store.read(path) as read:
        assert [number for number, _ in read.key_changes("bench")] == [4]


@pytest.mark.parametrize(
    ("count", "root", "said"),
    [
        (2, None, None),
        (1, None, None),
        (3, "0" * 64, "records up to 3 were signed on 1970-01-01 00:00:00 UTC: some are gone"),
        (2, "0" * 64, "records 1 to 2 are not those that were signed on 1970-01-01 00:00:00 UTC"),
    ],
)
def test_records_contradict_a_head_over_more_or_over_others(store, count, root, said):
    for number in (1, 2):
        store.samples.add(received(f"26-{number}"))
    head = sign_head(FIRST, "head", count, root or store.heads.root(count), 9)
    right = sign_head(FIRST, "head", 2, store.heads.root(2), 8)
    assert store.heads.contradiction([right, head]) == said
    assert store.heads.contradiction([]) is None
    assert structs.replace(head, utc_ns=10).is_right is False
