"""What was recorded is signed; where that cannot be, one line says so and recording goes on."""

import asyncio

import pytest

from ramphold.daemon._signing import SigningService
from ramphold.daemon._store_thread import StoreThread
from ramphold.keys.key_folder import KeyFolder
from ramphold.store import Store
from ramphold.testing import ManualClock
from support.tampering import received, tamper


@pytest.fixture
def path(tmp_path):
    return tmp_path / "bench.sqlite"


@pytest.fixture
def folder(path):
    return KeyFolder.beside(path)


def recorded(path, *numbers, clock=None):
    """Start the service, record samples, sign, stop; the service as it was left."""

    async def flow():
        store = await StoreThread.open(path)
        signing = SigningService(store, path, clock or ManualClock())
        await signing.start()
        for number in numbers:
            await store.run(lambda store, number=number: store.samples.add(received(number)))
            await signing.sign()
        await store.aclose()
        return signing

    return asyncio.run(flow())


def heads(path):
    with Store.read(path) as store:
        return store.heads.all("head")


def test_the_first_start_makes_a_key_and_every_later_one_uses_it(path, folder):
    first = recorded(path, "26-1")
    assert (first.text, folder.open().public) == ("", first.key.public)
    second = recorded(path, "26-2")
    assert second.key.public == first.key.public
    assert [(head.count, head.key, head.is_right) for head in heads(path)] == [
        (1, first.key.public, True), (2, first.key.public, True),
    ]  # fmt: skip
    assert folder.newest("head") == heads(path)[-1]


def test_what_a_dead_daemon_left_unsigned_is_signed_at_the_next_start(path):
    recorded(path, "26-1")
    with Store.open(path) as store:
        store.samples.add(received("26-2"))
    recorded(path)
    assert [head.count for head in heads(path)] == [1, 2]


def remove(folder):
    (folder.path / "own.key").unlink()


def open_to_all(folder):
    (folder.path / "own.key").chmod(0o644)


def foreign(folder):
    remove(folder)
    folder.make(5)


def broken(folder):
    (folder.path / "own.key").write_text("no key")


@pytest.mark.parametrize(
    ("harm", "told"),
    [(remove, "the bench's key is missing: put"), (open_to_all, "others may read it"),
     (foreign, "another bench's key: put back the key"), (broken, "holds no private key")],
)  # fmt: skip
def test_a_key_that_must_not_be_used_signs_nothing_and_stops_nothing(path, folder, harm, told):
    recorded(path, "26-1")
    harm(folder)
    service = recorded(path, "26-2")
    assert service.key is None
    assert told in service.text
    assert "\n" not in service.text
    assert [head.count for head in heads(path)] == [1]
    with Store.read(path) as store:
        assert store.records.newest() == 2


def test_a_missing_key_is_not_replaced_unseen(path, folder):
    recorded(path, "26-1")
    remove(folder)
    recorded(path)
    assert folder.open() is None


@pytest.mark.parametrize(
    "edits",
    [("DELETE FROM records WHERE id = 2", "DELETE FROM heads WHERE count = 2"),
     ("UPDATE records SET link = replace(link, '1', '2') WHERE id = 1", "DELETE FROM heads")],
)  # fmt: skip
def test_records_that_are_not_those_that_were_signed_are_not_signed_again(path, edits):
    recorded(path, "26-1", "26-2")
    tamper(path, *edits)
    service = recorded(path)
    assert service.key is None
    assert "were signed on" in service.text
    assert "ramphold check --records" in service.text


def test_a_database_put_back_from_a_copy_is_signed_on_once_a_person_says_so(path, folder):
    recorded(path, "26-1")
    copy = path.read_bytes()
    recorded(path, "26-2")
    path.write_bytes(copy)
    assert recorded(path).key is None
    (folder.path / "head").unlink()
    assert recorded(path, "26-3").text == ""
    assert [head.count for head in heads(path)] == [1, 2]


def test_a_clock_before_the_keys_date_is_named_and_what_is_recorded_is_signed(path, caplog):
    recorded(path, "26-1", clock=ManualClock(utc_ns=5))
    assert recorded(path, "26-2", clock=ManualClock(utc_ns=4)).text == ""
    assert "the clock is before the key's date or the newest head's: set it" in caplog.text
    assert [head.count for head in heads(path)] == [1, 2]


def test_a_folder_that_cannot_be_written_signs_nothing_and_stops_nothing(path, folder):
    folder.path.write_text("a file in its place")
    service = recorded(path, "26-1")
    assert service.key is None
    assert "can't be" in service.text
    assert heads(path) == []


def test_why_nothing_is_signed_is_told_until_it_is_signed_again(path, folder):
    """The folder is away for a while; the newest head goes into it once it is back."""

    async def flow():
        store = await StoreThread.open(path)
        signing = SigningService(store, path, ManualClock())
        await signing.start()
        away = folder.path.rename(path.with_name("away"))
        folder.path.write_text("a file in its place")
        await store.run(lambda store: store.samples.add(received("26-1")))
        for _ in range(2):
            await signing.sign()
            assert signing.text.startswith("records are not signed: ")
        folder.path.unlink()
        away.rename(folder.path)
        await signing.sign()
        assert signing.text == ""
        await store.aclose()

    asyncio.run(flow())
    assert folder.newest("head") == heads(path)[-1]
