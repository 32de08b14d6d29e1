"""Which record a file or a run is sealed by, and what a report's seal holds besides."""

import pytest

from ramphold.core import RunPlan
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.signed_head import sign_head
from ramphold.sample import PersonAdded, ReportIssued, Reviewed, RunDecided
from ramphold.store.record_seals import RecordSeals
from support.specimens import add_specimen
from support.tampering import received

KEY = SigningKey.from_bytes(bytes(range(32)))
WHO = {"operator": "KL", "utc_ns": 5}


@pytest.fixture
def run(store, short):
    """A sample with an ended run and its decision, a person, a review and a report."""
    store.samples.add(received("26-1"))
    specimen = add_specimen(store, sample=1).specimen
    number = store.runs.begin(
        specimen=specimen, operator="KL", plan=RunPlan(target_psi=4000), t_ns=0, utc_ns=5
    )
    short.write(store, number)
    store.records.append(
        PersonAdded(initials="KL", name="Kim Lund", function="head", key=KEY.public, **WHO)
    )
    store.samples.add(received("26-2"))
    for sample in (1, 2):
        store.records.append(
            RunDecided(sample=sample, specimen=1, run=1, counts=True, reason="x", **WHO)
        )
    store.records.append(Reviewed(sample=1, **WHO))
    store.records.append(
        ReportIssued(sample=1, revision=1, sha256="ab" * 32, pdf_sha256="cd" * 32, **WHO)
    )
    return number


def test_a_report_and_a_trace_are_found_by_their_hash_and_a_run_by_its_number(store, run):
    seals = RecordSeals(store)
    ended = store.records.one(3)
    assert seals.record_of_run(run) == seals.record_of(ended.trace_sha256) == 3
    assert seals.record_of("ab" * 32) == seals.record_of("cd" * 32) == 9
    assert (seals.record_of_run(run + 1), seals.record_of("ef" * 32)) == (None, None)


@pytest.mark.usefixtures("run")
def test_a_reports_seal_holds_who_signs_and_what_people_answered_for_of_its_sample(store):
    store.heads.sign(KEY, 10)
    seals = RecordSeals(store)
    assert [one.record for one in seals.of(9).people] == [4, 6, 8]
    assert seals.of(8).people == ()
    for record in (3, 9):
        seal = seals.of(record)
        assert (seal.record, list(seal.findings())) == (record, [])
    assert seals.of(9).receipt is None
    store.heads.keep(sign_head(KEY, "receipt", 9, store.heads.root(9), 11))
    assert RecordSeals(store).of(9).receipt.head.count == 9
