"""What people signed is found changed by the file alone, also with the bench's key in hand."""

import shutil
import sqlite3

import pytest
from msgspec import structs

from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.person_key import OpenedKey, Signer
from ramphold.sample import PersonAdded, ReportIssued, Reviewed, RunDecided
from ramphold.store import Store
from support.benches import FilledBench
from support.edits import forge, of, setting, without


@pytest.fixture(scope="module")
def signed(tmp_path_factory):
    """A bench where MB signs: a decision, a review, an issue; and its key."""
    path = tmp_path_factory.mktemp("signed") / "bench.sqlite3"
    key = KeyFolder.beside(path).make(1)
    bench = FilledBench(path)
    bench.sample("S", stresses=[8000.0], replicates=1)
    own = SigningKey.generate()
    who = {"initials": "MB", "name": "M. Brandt", "function": "manager", "key": own.public}
    opened = OpenedKey(Signer(**who, added_utc_ns=1), own)
    act = {"operator": "MB", "utc_ns": 9}
    records = bench.store.records
    for record in (
        PersonAdded(**act, **who),
        RunDecided(**act, sample=1, specimen=1, run=1, counts=True, reason="bed whole"),
        Reviewed(**act, sample=1),
        ReportIssued(**act, sample=1, revision=1, sha256="ab" * 32),
    ):
        records.append_signed(record, opened)
    bench.store.heads.sign(key, 9)
    bench.close()
    return path, key


def found(path, key):
    with Store.read(path) as store:
        heads = store.audit_heads(key=key.public, kept=[])
        return [*heads.findings(), *store.audit().findings()], list(store.audit().findings_of(1))


def by_another(records):
    """The review by a key of the forger's own, under the reviewer's name."""
    of(records, "review")[-1]["signed"]["key"] = SigningKey.generate().public
    return records


def unsigned(kind):
    def edit(records):
        of(records, kind)[-1]["signed"] = None
        return records

    return edit


def in_signature(kind, name, value):
    def edit(records):
        of(records, kind)[-1]["signed"][name] = value
        return records

    return edit


CHANGES = {
    "the reviewer's initials": setting("review", "operator", "KL", at=-1),
    "the reviewer's name": in_signature("review", "name", "K. Lund"),
    "the reviewer's function": in_signature("review", "function", "director"),
    "the review by a key of the forger's own": by_another,
    "the review's signature taken away": unsigned("review"),
    "the review removed": without("review", at=-1),
    "the time of the review": setting("review", "utc_ns", 8, at=-1),
    "a mass that was reviewed": setting("mass", "mass_g", 41.0, test="crush", item="charge"),
    "the operator of a mass that was reviewed": setting("mass", "operator", "XX"),
    "whether the run counts": setting("decision", "counts", value=False),
    "why the run counts": setting("decision", "reason", "looks fine"),
    "who decided": setting("decision", "operator", "KL"),
    "the decision's signature taken away": unsigned("decision"),
    "who issued": setting("report", "operator", "KL"),
    "the hash of the issued file": setting("report", "sha256", "cd" * 32),
    "the person's name": setting("person", "name", "K. Lund"),
    "the person removed": without("person"),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_is_found_by_the_file_alone_whoever_holds_the_benchs_key(signed, tmp_path, name):
    path, key = signed
    copy = tmp_path / path.name
    shutil.copy(path, copy)
    connection = sqlite3.connect(copy)
    forge(connection, CHANGES[name], key)
    connection.close()
    all_of_it, of_the_sample = found(copy, key)
    assert all_of_it
    about = " ".join(all_of_it)
    assert "signed" in about
    if name != "the person's name":
        assert of_the_sample


def test_what_nobody_changed_is_found_as_it_was_signed(signed):
    path, key = signed
    assert found(path, key) == ([], [])


def test_a_signature_with_the_text_of_another_record_covers_nothing(signed):
    path, _ = signed
    with Store.read(path) as store:
        (review,) = [one for one in store.records.of_kind(Reviewed, 1) if one.signed]
        (report,) = store.records.of_kind(ReportIssued, 1)
        rows = store.connection().rows(
            "SELECT body, link FROM records WHERE sample = 1 ORDER BY id"
        )
    (body, _), (_, previous) = rows[-1], rows[-2]
    assert report.signed.covers(previous, body)
    assert not report.signed.covers("", body)
    assert not report.signed.covers(previous, body.replace('"revision":1', '"revision":2'))
    assert not review.signed.covers(previous, body)
    assert not structs.replace(report.signed, signature="").covers(previous, body)
