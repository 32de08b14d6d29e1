"""The bench's key is renewed or given up while the press works on, and no power cut leaves none."""

import asyncio

import pytest

from ramphold.control.key_methods import RenewKeyParams
from ramphold.daemon._signing import SigningService
from ramphold.daemon._store_thread import StoreThread
from ramphold.errors import CommandRefused, KeyFileError
from ramphold.keys.ed25519 import SigningKey, fingerprint
from ramphold.keys.key_folder import KeyFolder
from ramphold.store import Store
from ramphold.testing import ManualClock
from support.tampering import received

RENEW = RenewKeyParams(operator="KL", reason="five years old")
LOST = RenewKeyParams(operator="KL", reason="the card died", lost=True)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "bench.sqlite"


@pytest.fixture
def folder(path):
    return KeyFolder.beside(path)


def at_work(path, *steps, services=None):
    """Start the service and do each step: a number receives a sample, parameters renew the key."""

    async def flow():
        store = await StoreThread.open(path)
        signing = SigningService(store, path, ManualClock(utc_ns=5))
        if services is not None:
            services.append(signing)
        try:
            await signing.start()
            for step in steps:
                if isinstance(step, str):
                    await store.run(lambda store, step=step: store.samples.add(received(step)))
                    await signing.sign()
                else:
                    await signing._renew(step)
        finally:
            await store.aclose()
        return signing

    return asyncio.run(flow())


def audit(path, key=None, collector=None):
    folder = KeyFolder.beside(path)
    with Store.read(path) as store:
        kept = [head for head in (folder.newest("head"), folder.newest("receipt")) if head]
        found = store.audit_heads(key=key or folder.public(), collector=collector, kept=kept)
        return list(found.findings()), found


def newest(path):
    with Store.read(path) as store:
        return store.records.newest(), store.heads.newest()


def test_the_old_key_signs_for_the_new_one_which_signs_from_then_on(path, folder):
    old = at_work(path, "26-1").key
    service = at_work(path, RENEW, "26-2")
    new = folder.open()
    assert (service.key.public, service.text) == (new.public, "")
    assert new.public != old.public
    with Store.read(path) as store:
        assert [(head.count, head.key) for head in store.heads.all("head")] == [
            (1, old.public), (2, old.public), (3, new.public),
        ]  # fmt: skip
        ((record, change),) = store.key_changes("bench")
    assert (record, change.by, change.reason) == (2, "KL", "five years old")
    assert change.is_renewal
    # Whoever knows either key finds all as it was signed.
    for key in (old.public, new.public):
        told, found = audit(path, key)
        assert (told, found.heads, found.unsigned) == ([], 4, "")
    assert at_work(path, "26-3").text == ""


def test_an_old_key_signs_nothing_after_its_renewal(path, folder):
    old = at_work(path, "26-1").key
    at_work(path, RENEW)
    with Store.open(path) as store:
        store.samples.add(received("26-2"))
        store.heads.sign(old, 9)
    (told,) = audit(path)[0]
    assert f"is signed by key {fingerprint(old.public)[:16]}, which record 2 replaced" in told
    # Nor does the daemon sign with it, as after its folder came back from an older backup.
    folder.prepare(old, 1)
    folder.settle((old.public,))
    service = at_work(path, "26-3")
    assert service.key is None
    assert "was replaced by record 2: put the newer key back" in service.text


def test_a_lost_key_is_given_up_by_a_person_and_what_it_signed_stays_signed(path, folder):
    old = at_work(path, "26-1").key
    (folder.path / "own.key").unlink()
    service = at_work(path, "26-2", LOST)
    new = folder.open()
    assert (service.key.public, service.text) == (new.public, "")
    told, found = audit(path)
    assert (told, found.signed.count) == ([], 3)
    # Whoever knows the old key only is told to ask.
    (told, *_) = audit(path, old.public)[0]
    assert f"signed by key {fingerprint(new.public)[:16]}, in the place of a lost one" in told
    assert "says KL: ask" in told
    assert at_work(path, "26-3").text == ""


@pytest.mark.parametrize(
    ("harm", "wanted", "said"),
    [
        (lambda _: None, LOST, "own.key is there: leave out --lost"),
        (lambda folder: (folder.path / "own.key").chmod(0o644), LOST, "own.key is there"),
        (lambda folder: (folder.path / "own.key").chmod(0o644), RENEW, "old key can't be used"),
        (lambda folder: (folder.path / "own.key").unlink(), RENEW, "old key can't be used"),
    ],
)
def test_a_key_that_is_there_is_not_lost_and_one_that_is_not_renews_nothing(
    path, folder, harm, wanted, said
):
    at_work(path, "26-1")
    harm(folder)
    with pytest.raises(CommandRefused, match=said):
        at_work(path, wanted)
    assert newest(path)[0] == 1


def test_records_that_were_changed_are_not_signed_by_a_new_key(path, folder):
    at_work(path, "26-1")
    (folder.path / "own.key").unlink()
    (folder.path / "head").write_bytes(
        (folder.path / "head").read_bytes().replace(b'"count":1', b'"count":5')
    )
    with pytest.raises(CommandRefused, match="ramphold check --records"):
        at_work(path, LOST)
    assert not folder.has_private


def test_a_power_cut_before_the_record_leaves_the_old_key(path, folder):
    old = at_work(path, "26-1").key
    folder.prepare(SigningKey.generate(), 6)
    assert at_work(path, "26-2").key.public == old.public
    assert not (folder.path / "next.key").exists()


@pytest.mark.parametrize("wanted", [RENEW, LOST])
def test_what_ends_after_the_record_is_finished_at_the_next_start_and_nothing_signs_meanwhile(
    path, folder, wanted
):
    at_work(path, "26-1")
    if wanted.lost:
        (folder.path / "own.key").unlink()
    # The public key can't be written: the new one is recorded, and not in its place.
    public = folder.path / "own.pub"
    public.unlink()
    public.mkdir()
    services = []
    with pytest.raises(KeyFileError, match="can't be written"):
        at_work(path, wanted, services=services)
    (service,) = services
    assert service.key is None
    assert service.text.startswith("records are not signed until a restart")
    assert newest(path)[0] == 2
    public.rmdir()
    service = at_work(path, "26-2")
    with Store.read(path) as store:
        ((_, change),) = store.key_changes("bench")
    assert (service.key.public, service.text) == (change.new, "")
    told, found = audit(path)
    assert (told, found.unsigned) == ([], "")


def test_a_new_key_file_is_its_owners_alone(path, folder):
    at_work(path, "26-1", RENEW)
    assert (folder.path / "own.key").stat().st_mode & 0o777 == 0o600
    assert folder.made_utc_ns() == 5
