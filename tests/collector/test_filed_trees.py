"""The collector signs what it has filed without a gap, and compares what the benches signed."""
# ruff: noqa: PLR0913, PLR0917 - a bench, its key, the collector with its own, and an archive

import pytest
from msgspec import structs

from ramphold.collector._archive_writing import file_records
from ramphold.collector._filed_trees import FiledTrees, collector_key, root_over
from ramphold.collector._result_tables import work_out
from ramphold.collector.bench_keys import accept_key
from ramphold.collector.config import CollectConfig
from ramphold.errors import InputError
from ramphold.keys.ed25519 import SigningKey, fingerprint
from ramphold.keys.key_change import change_key
from ramphold.keys.merkle import MerkleTree
from ramphold.keys.signed_head import sign_head
from ramphold.publish.broker_config import BrokerConfig
from ramphold.sample import KeyChanged
from ramphold.wire import Receipt, encode_body

SERIES = "a" * 32
NOW_NS = 1_000_000_000_000


@pytest.fixture
def key():
    return SigningKey.generate()


@pytest.fixture
def bench():
    return SigningKey.generate()


@pytest.fixture
def trees(key):
    return FiledTrees(key)


@pytest.fixture
def file(archive):
    def filed(records):
        with archive.transaction():
            file_records(archive.database, records, NOW_NS)

    return filed


def root(records):
    return MerkleTree.of(one.message.link for one in records).root()


def signed(bench, records, count, **otherwise):
    head = sign_head(bench, "head", count, root(records[:count]), 5)
    return structs.replace(head, **otherwise)


def take(archive, trees, head, utc_ns=NOW_NS):
    with archive.transaction():
        trees.take(archive.database, "p1", SERIES, head, utc_ns)


def told(archive):
    return [
        (one.fingerprint, one.vouched, one.contradicted)
        for one in archive.benches()
        if one.series == SERIES
    ]


def test_a_receipt_covers_what_is_filed_up_to_the_first_gap(archive, trees, key, records, file):
    file([*records[:7], *records[9:20]])
    receipt = trees.receipt(archive.database, SERIES, 9)
    assert (receipt.word, receipt.count, receipt.root) == ("receipt", 7, root(records[:7]))
    assert (receipt.key, receipt.is_right, receipt.utc_ns) == (key.public, True, 9)
    file(records[7:9])
    assert trees.receipt(archive.database, SERIES, 9).count == 20
    # Whoever starts later signs the same.
    assert FiledTrees(key).receipt(archive.database, SERIES, 9).root == root(records[:20])
    assert root_over(archive.database, SERIES, 20) == root(records[:20])


def test_nothing_filed_and_no_key_sign_nothing(archive, trees, records, file):
    assert trees.receipt(archive.database, SERIES, 9) is None
    file(records[:3])
    assert FiledTrees(None).receipt(archive.database, SERIES, 9) is None


def test_every_receipt_of_a_batch_is_signed(archive, trees, records, file):
    file(records[:3])
    sender = ("p1", SERIES)
    signed_ = trees.sign(archive.database, {sender: Receipt(series=SERIES, taken=(1, 2, 3))}, 9)
    assert signed_[sender].taken == (1, 2, 3)
    assert signed_[sender].head.count == 3


def test_a_head_vouches_once_a_person_has_accepted_its_key(archive, trees, bench, records, file):
    file(records[:10])
    take(archive, trees, signed(bench, records, 10))
    whose = fingerprint(bench.public)
    assert told(archive) == [(whose, 0, 0)]
    done = accept_key(archive, "p1", whose[:20], "M. Brandt", 7)
    assert (done.fingerprint, done.records) == (whose, 10)
    assert told(archive) == [(whose, 10, 0)]
    file(records[10:12])
    take(archive, trees, signed(bench, records, 12))
    assert told(archive) == [(whose, 12, 0)]


def test_a_key_may_be_accepted_before_it_has_signed(archive, trees, bench, records, file):
    accept_key(archive, "p1", fingerprint(bench.public), "M. Brandt", 7)
    file(records[:3])
    take(archive, trees, signed(bench, records, 3))
    assert told(archive)[0][1] == 3


@pytest.mark.parametrize("typed", ["0123456789abcdef", "zz", ""])
def test_a_fingerprint_that_is_nobodys_is_refused(archive, trees, bench, records, file, typed):
    file(records[:3])
    take(archive, trees, signed(bench, records, 3))
    with pytest.raises(InputError, match="fingerprint"):
        accept_key(archive, "p1", typed, "M. Brandt", 7)


def test_the_key_of_one_bench_does_not_vouch_for_another(archive, trees, bench, records, file):
    accept_key(archive, "p2", fingerprint(bench.public), "M. Brandt", 7)
    file(records[:3])
    take(archive, trees, signed(bench, records, 3))
    assert told(archive)[0][1] == 0


def renewal(archive, number, old, new):
    """File the record that a key takes the place of another."""
    change = change_key("bench", old, new, by="KL", reason="five years old", utc_ns=5)
    body = encode_body(structs.replace(KeyChanged.of(change), record=number)).decode()
    with archive.transaction():
        archive.database.write(
            "INSERT INTO events (series, record, bench, kind, operator, utc_ns, body, "
            "before_link, previous, link, filed_utc_ns) "
            "VALUES (?, ?, 'p1', 'key change', 'KL', 5, ?, '', '', ?, 1)",
            (SERIES, number, body, "ab" * 32),
        )
    return MerkleTree.of(link for _, link in archive.database.rows(
        "SELECT record, link FROM events WHERE series = ? ORDER BY record", (SERIES,)
    )).root()  # fmt: skip


def test_a_key_that_an_accepted_one_signed_for_vouches_by_itself_and_the_old_one_no_more(
    archive, trees, bench, records, file
):
    accept_key(archive, "p1", fingerprint(bench.public), "M. Brandt", 7)
    file(records[:3])
    new = SigningKey.generate()
    after = renewal(archive, 4, bench, new)
    take(archive, trees, sign_head(new, "head", 4, after, 5))
    assert told(archive) == [(fingerprint(new.public), 4, 0)]
    ((by,),) = archive.database.rows(
        "SELECT accepted_by FROM bench_keys WHERE fingerprint = ?", (fingerprint(new.public),)
    )
    assert by == f"key {fingerprint(bench.public)[:16]}, which has signed for it"
    after = renewal(archive, 5, SigningKey.generate(), SigningKey.generate())
    take(archive, trees, sign_head(bench, "head", 5, after, 5))
    assert told(archive) == [(fingerprint(new.public), 4, 0)]


def test_a_flood_of_key_changes_costs_no_more_than_the_newest_twenty(
    archive, trees, bench, records, file
):
    accept_key(archive, "p1", fingerprint(bench.public), "M. Brandt", 7)
    file(records[:3])
    new, stranger, other = (SigningKey.generate() for _ in range(3))
    renewal(archive, 4, bench, new)
    for number in range(5, 24):
        renewal(archive, number, stranger, other)
    after = renewal(archive, 24, stranger, other)
    take(archive, trees, sign_head(new, "head", 24, after, 5))
    # The renewal is the twenty-first, so a person is asked.
    assert told(archive) == [(fingerprint(new.public), 0, 0)]


def test_a_key_in_the_place_of_a_lost_one_vouches_for_nothing_until_a_person_accepts_it(
    archive, trees, bench, records, file
):
    accept_key(archive, "p1", fingerprint(bench.public), "M. Brandt", 7)
    file(records[:3])
    take(archive, trees, signed(bench, records, 3))
    new = SigningKey.generate()
    after = renewal(archive, 4, bench.public, new)
    take(archive, trees, sign_head(new, "head", 4, after, 5))
    ((one),) = [one for one in archive.benches() if one.series == SERIES]
    assert (one.fingerprint, one.accepted, one.vouched) == (fingerprint(new.public), False, 3)
    accept_key(archive, "p1", fingerprint(new.public), "M. Brandt", 8)
    assert told(archive) == [(fingerprint(new.public), 4, 0)]


def test_a_head_that_comes_before_its_records_waits_for_them(archive, trees, bench, records, file):
    take(archive, trees, signed(bench, records, 9))
    file(records[:12])
    trees.receipt(archive.database, SERIES, 9)
    assert told(archive) == [(fingerprint(bench.public), 0, 0)]


def test_a_head_over_other_records_is_kept_as_a_contradiction(archive, trees, bench, records, file):
    file(records[:10])
    forged = sign_head(bench, "head", 10, "0" * 64, 5)
    take(archive, trees, forged)
    take(archive, trees, forged)
    assert told(archive) == [(None, 0, 1)]


def test_a_late_head_over_other_records_is_found_too(archive, trees, bench, records, file):
    file(records[:10])
    trees.receipt(archive.database, SERIES, 9)
    take(archive, trees, sign_head(bench, "head", 4, "0" * 64, 5))
    assert told(archive) == [(None, 0, 1)]
    take(archive, trees, signed(bench, records, 5), NOW_NS + 11 * 10**9)
    assert told(archive) == [(fingerprint(bench.public), 0, 1)]


def test_a_head_with_a_wrong_signature_says_nothing(archive, trees, bench, records, file):
    file(records[:10])
    take(archive, trees, signed(bench, records, 10, utc_ns=6))
    assert told(archive) == [(None, 0, 0)]


def test_a_receipt_that_a_bench_sends_back_shows_whether_the_archive_was_rewritten(
    archive, trees, key, bench, records, file
):
    file(records[:10])
    take(archive, trees, trees.receipt(archive.database, SERIES, 9))
    assert told(archive) == [(None, 0, 0)]
    # Another's receipt says nothing of this archive.
    take(archive, trees, sign_head(bench, "receipt", 10, "0" * 64, 5))
    assert told(archive) == [(None, 0, 0)]
    take(archive, trees, sign_head(key, "receipt", 10, "0" * 64, 5))
    assert told(archive) == [(None, 0, 1)]


def test_a_receipt_of_the_collectors_earlier_key_is_its_own_and_benches_hear_how_it_came_to_the_new(
    archive, key, records, file
):
    file(records[:10])
    new = SigningKey.generate()
    change = change_key("collector", key, new, by="M. Brandt", reason="old", utc_ns=5)
    renewed = FiledTrees(new, (change,))
    sent = renewed.sign(archive.database, {("p1", SERIES): Receipt(series=SERIES)}, 9)
    assert sent["p1", SERIES].key_changes == (change,)
    take(archive, renewed, sign_head(key, "receipt", 10, "0" * 64, 5))
    assert told(archive) == [(None, 0, 1)]


def test_a_sample_says_whether_it_is_vouched_for(archive, trees, bench, records, file, look):
    file(records)
    while work_out(archive, 10):
        pass
    sql = "SELECT laboratory_number, vouched FROM samples ORDER BY 1"
    assert {row[1] for row in look(sql)} == {"not vouched for"}
    last = max(one.number for one in records if one.record.sample == 1)
    take(archive, trees, signed(bench, records, last))
    accept_key(archive, "p1", fingerprint(bench.public), "M. Brandt", 7)
    assert look(sql) == [
        ("26-0417", "vouched for"), ("C-1", "not vouched for"), ("C-2", "not vouched for"),
    ]  # fmt: skip


def config(archive, **more):
    return CollectConfig(archive=archive, broker=BrokerConfig(host="x"), **more)


def test_the_collectors_key_is_made_once_and_a_lost_one_is_not_made_anew(tmp_path, caplog):
    where = config(str(tmp_path / "archive.db"))
    key = collector_key(where, 5)
    assert collector_key(where, 6).public == key.public
    assert caplog.text == ""
    assert collector_key(where, 4).public == key.public
    assert "the clock is before the key's date: set it" in caplog.text
    (tmp_path / "archive.db.keys" / "own.key").unlink()
    assert collector_key(where, 7) is None
    assert "own.key is missing: put it back from its backup" in caplog.text
    assert "give it up (`ramphold key renew-collector --lost`)" in caplog.text


def test_a_postgresql_archive_needs_a_named_folder_and_uses_it(tmp_path, caplog):
    assert collector_key(config("postgresql://x/y"), 5) is None
    assert "name a folder for keys in collect.toml" in caplog.text
    key = collector_key(config("postgresql://x/y", keys=str(tmp_path / "keys")), 5)
    assert key is not None
    assert (tmp_path / "keys" / "own.key").exists()
