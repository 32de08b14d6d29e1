"""A bench keeps the signed receipts of its collector, and of no other."""

import pytest

from ramphold.keys.ed25519 import SigningKey
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


def test_another_collectors_receipt_is_not_kept_until_a_person_removes_the_known_key(
    store, collector
):
    save(store, receipt(store, collector, 2))
    other = SigningKey.generate()
    told = save(store, receipt(store, other, 3))
    assert told.startswith("receipts are signed by another collector")
    assert kept(store) == [2]
    (KeyFolder.beside(store.path).path / "collector.pub").unlink()
    assert save(store, receipt(store, other, 3)) == ""
    assert kept(store) == [2, 3]


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
