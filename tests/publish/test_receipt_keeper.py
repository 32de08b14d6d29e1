"""A bench keeps the signed receipts of its collector, and of no other."""

from itertools import pairwise

import pytest
from msgspec import structs

from ramphold.errors import CommandRefused
from ramphold.keys.ed25519 import SigningKey, fingerprint
from ramphold.keys.key_change import change_key
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.signed_head import sign_head
from ramphold.publish._receipt_keeper import ReceiptKeeper
from ramphold.store import Store
from support.tampering import received


@pytest.fixture
def store(tmp_path):
    with Store.open(tmp_path / "bench.sqlite") as opened:
        for number in range(5):
            opened.samples.add(received(f"26-{number}"))
        yield opened


@pytest.fixture
def collector():
    return SigningKey.generate()


def receipt(store, key, count, **otherwise):
    given = {"word": "receipt", "root": store.heads.root(count) or "", "utc_ns": 9} | otherwise
    return sign_head(key, count=count, **given)


def kept(store):
    return [one.count for one in store.heads.all("receipt")]


def save(store, *receipts):
    keeper = ReceiptKeeper()
    for one in receipts:
        keeper.take(one)
        keeper.save(store)
    return keeper.text


def test_receipts_are_kept_in_the_database_and_the_newest_beside_the_key(store, collector):
    receipts = [receipt(store, collector, count) for count in (2, 4)]
    assert save(store, *receipts) == ""
    assert kept(store) == [2, 4]
    folder = KeyFolder.beside(store.path)
    assert folder.newest("receipt") == receipts[1]
    assert folder.collector() == collector.public


def test_of_the_receipts_between_two_saves_the_newest_is_kept(store, collector):
    keeper = ReceiptKeeper()
    for count in (1, 3, 2):
        keeper.take(receipt(store, collector, count))
    keeper.save(store)
    keeper.save(store)
    assert kept(store) == [3]


def changes(*keys):
    """The collector's renewals from each key to the next."""
    return [
        change_key("collector", old, new, by="M. Brandt", reason="five years old", utc_ns=5)
        for old, new in pairwise(keys)
    ]


def followed(store, key, count, told):
    keeper = ReceiptKeeper()
    keeper.take(receipt(store, key, count), told)
    keeper.save(store)
    return keeper


def recorded(store):
    return [(change.old, change.new, change.by) for _, change in store.key_changes("collector")]


def test_another_collectors_receipt_is_not_kept_until_a_person_takes_its_key(store, collector):
    save(store, receipt(store, collector, 2))
    other = SigningKey.generate()
    keeper = followed(store, other, 3, ())
    whose = fingerprint(other.public)
    assert keeper.text.startswith("receipts are signed by another collector and are not kept")
    assert f"key {whose}: if that is right, `ramphold key take-collector`" in keeper.text
    assert kept(store) == [2]
    with pytest.raises(CommandRefused, match=f"the last refused: {whose}"):
        keeper.accept(store, fingerprint(collector.public), "moved", "KL", 7)
    done = keeper.accept(store, whose[:16], "moved to a new server", "KL", 7)
    assert (done.whose, done.new, done.operator) == ("collector", other.public, "KL")
    assert (keeper.text, kept(store)) == ("", [2, 3])
    assert recorded(store) == [(collector.public, other.public, "KL")]
    assert save(store, receipt(store, other, 4)) == ""
    # A check knows both, and a third is a stranger.
    store.heads.keep(receipt(store, SigningKey.generate(), 1))
    audit = store.audit_heads(key=None, collector=other.public)
    (told,) = audit.findings()
    assert "is signed by another collector" in told
    assert audit.receipts == 3


def test_a_key_that_the_known_one_signed_for_is_taken_and_recorded_over_several_steps(
    store, collector
):
    save(store, receipt(store, collector, 2))
    two, three = SigningKey.generate(), SigningKey.generate()
    assert followed(store, three, 3, changes(collector, two, three)).text == ""
    assert KeyFolder.beside(store.path).collector() == three.public
    assert recorded(store) == [
        (collector.public, two.public, "M. Brandt"), (two.public, three.public, "M. Brandt"),
    ]  # fmt: skip
    assert kept(store) == [2, 3]


def test_no_other_statement_leads_to_another_key(store, collector):
    save(store, receipt(store, collector, 2))
    other, third = SigningKey.generate(), SigningKey.generate()
    (right,) = changes(collector, other)
    for told in (
        changes(third, other),  # a stranger signed for it
        changes(other, collector),  # backwards
        [structs.replace(right, by_old="")],  # lost
        [structs.replace(right, by_old=other.sign(right.statement))],
        [structs.replace(right, whose="bench")],
        [structs.replace(right, reason="another")],
    ):
        assert "another collector" in followed(store, other, 3, told).text
    assert (kept(store), recorded(store)) == ([2], [])
    # Once it is renewed, the old key is a stranger's.
    assert followed(store, other, 3, [right]).text == ""
    assert "another collector" in followed(store, collector, 4, [right]).text


def test_a_receipt_over_other_records_is_kept_as_evidence_and_told(store, collector):
    told = save(store, receipt(store, collector, 3, root="0" * 64))
    assert told.startswith("records 1 to 3 are not those that were signed on")
    assert kept(store) == [3]


def test_a_wrong_signature_or_a_head_in_its_place_is_not_kept(store, collector):
    right = receipt(store, collector, 3)
    forged = type(right)(**{name: getattr(right, name) for name in right.__struct_fields__}
                         | {"count": 4})  # fmt: skip
    assert "signature is wrong" in save(store, forged)
    assert "signature is wrong" in save(store, receipt(store, collector, 3, word="head"))
    assert kept(store) == []


def test_a_folder_that_cannot_be_written_is_told_and_stops_nothing(store, collector):
    KeyFolder.beside(store.path).path.write_text("a file in its place")
    assert "can't be" in save(store, receipt(store, collector, 2))
