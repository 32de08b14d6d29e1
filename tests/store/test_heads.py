"""Every record is covered by a signed head, and what is not as signed is found."""

import re
import struct

import pytest
from msgspec import structs

from ramphold.errors import StoreError
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.merkle import FullTree
from ramphold.keys.signed_head import sign_head
from ramphold.store import Store
from ramphold.store.record_seals import RecordSeals
from support.tampering import received, tamper

#: The SQLite file format: the first byte of a page that holds entries of an index.
_INDEX_LEAF = 0x0A


@pytest.fixture
def key():
    return SigningKey.generate()


@pytest.fixture
def signed(path, key):
    """Three samples, with a head over the first two and one over all three."""
    with Store.open(path) as store:
        for number in (1, 2):
            store.samples.add(received(f"26-{number}"))
        store.heads.sign(key, 10)
        store.samples.add(received("26-3"))
        store.heads.sign(key, 20)
    return path


def found(path, key, kept=()):
    with Store.read(path) as store:
        audit = store.audit_heads(key=key.public, kept=kept)
        return list(audit.findings()), audit


def test_what_nobody_touched_is_as_it_was_signed(signed, key):
    told, audit = found(signed, key)
    assert told == []
    assert (audit.heads, audit.receipts, audit.records) == (2, 0, 3)
    assert (audit.signed.count, audit.unsigned) == (3, "")


def test_a_head_is_signed_once(path, key):
    with Store.open(path) as store:
        assert store.heads.sign(key, 1) is None
        store.samples.add(received("26-1"))
        assert store.heads.sign(key, 2).count == 1
        assert store.heads.sign(key, 3) is None
        assert store.heads.all("head") == [store.heads.newest()]


def test_the_root_is_that_of_the_links(signed):
    with Store.read(signed) as store:
        tree = FullTree.of(store.links().values())
        assert store.heads.newest().root == tree.root().hex()


def test_a_seal_proves_its_record_once_a_head_covers_it(signed):
    with Store.open(signed) as store:
        store.samples.add(received("26-4"))
        seals = RecordSeals(store)
        for record in (1, 2, 3):
            assert list(seals.of(record).findings()) == []
        assert seals.of(4) is None


def test_no_seal_is_made_over_records_that_are_not_those_that_were_signed(signed):
    tamper(signed, "UPDATE records SET body = replace(body, '26-2', '26-9') WHERE id = 2")
    with Store.read(signed) as store, pytest.raises(StoreError, match="not those of the head"):
        RecordSeals(store).of(1)


def test_a_record_after_the_newest_head_is_said_to_be_unsigned(signed, key):
    with Store.open(signed) as store:
        store.samples.add(received("26-4"))
    told, audit = found(signed, key)
    assert told == []
    assert audit.unsigned.startswith("records 4 to 4 are not signed: anybody may have")


def test_a_changed_link_is_found_between_the_heads_that_it_lies_between(signed, key):
    tamper(signed, "UPDATE records SET link = replace(link, 'a', 'b') WHERE id = 3")
    told = found(signed, key)[0]
    assert told == [
        "records 3 to 3 are not those of the head that was signed on 1970-01-01 00:00:00 UTC"
    ]


def test_heads_that_another_key_signed_are_found(signed):
    told, audit = found(signed, SigningKey.generate())
    assert len(told) == 2
    assert "is signed by another key" in told[0]
    assert audit.unsigned.startswith("records 1 to 3 are not signed")


def test_a_head_of_changed_words_is_found(signed, key):
    tamper(signed, "UPDATE heads SET utc_ns = 21 WHERE count = 3")
    assert "its signature is wrong" in found(signed, key)[0][0]


def test_a_cut_is_found_by_a_head_outside_the_database(signed, key):
    with Store.read(signed) as store:
        head = store.heads.newest()
    tamper(signed, "DELETE FROM records WHERE id = 3", "DELETE FROM heads WHERE count = 3")
    assert found(signed, key)[0] == []
    told = found(signed, key, [head])[0]
    assert told == ["records 3 to 3 are missing: a head of 1970-01-01 00:00:00 UTC covers them"]


def test_a_receipt_counts_as_a_witness(signed, key):
    collector = SigningKey.generate()
    with Store.open(signed) as store:
        store.heads.keep(sign_head(collector, "receipt", 2, store.heads.root(2), 30))
    told, audit = found(signed, key)
    assert told == []
    assert (audit.receipts, audit.witnessed.count) == (1, 2)


def test_a_receipt_over_other_records_is_found(signed, key):
    collector = SigningKey.generate()
    with Store.open(signed) as store:
        store.heads.keep(sign_head(collector, "receipt", 2, "0" * 64, 30))
    (told,) = found(signed, key)[0]
    assert told.startswith("records 2 to 2 are not those of the receipt")


def test_without_a_key_to_check_against_the_signer_is_named_as_nobodys(signed):
    with Store.read(signed) as store:
        audit = store.audit_heads(key=None)
        assert list(audit.findings()) == []
    assert "which nothing here vouches for: name the bench's with --fingerprint" in audit.unsigned


def test_a_damaged_file_is_found(signed, key):
    size = 4096
    content = bytearray(signed.read_bytes())
    # The last page but one, well inside an index or a table.
    at = len(content) // size - 2
    content[at * size : at * size + 64] = b"\xff" * 64
    signed.write_bytes(content)
    try:
        told = found(signed, key)[0]
    except OSError as error:
        told = [str(error)]
    assert told
    assert "malformed" in told[0] or "damaged" in told[0]


def test_no_head_is_changed_or_deleted_by_a_program_that_keeps_the_rules(signed):
    with Store.open(signed) as store:
        for statement in ("DELETE FROM heads", "UPDATE heads SET count = 9"):
            with (
                pytest.raises(OSError, match="rows are only added"),
                store._connection.transaction(),
            ):
                store._connection.write(statement)
        assert structs.astuple(store.heads.newest())[1] == 3


def test_a_damaged_file_is_found_with_what_sqlite_says_of_it(signed, key):
    # An entry of an index that is no row's.
    data = bytearray(signed.read_bytes())
    (size,) = struct.unpack(">H", data[16:18])
    at = next(
        one.start()
        for one in re.finditer(rb"26-2", data)
        if data[one.start() // size * size] == _INDEX_LEAF
    )
    data[at] = ord("9")
    signed.write_bytes(data)
    told = found(signed, key)[0]
    assert told
    assert all(one.startswith("the file is damaged: ") and "\n" not in one for one in told)
