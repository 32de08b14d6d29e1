"""What was recorded is told once it is committed, before whoever asked has his answer."""

import asyncio

import pytest

from ramphold.daemon._store_thread import StoreThread
from support.specimens import add_specimen


def add(label):
    return lambda store: add_specimen(store, label=label)


def test_each_record_is_told_once_and_before_the_answer(tmp_path):
    path, told = tmp_path / "a.sqlite3", []

    async def body():
        store = await StoreThread.open(path, told.append)
        await store.run(add("a"))
        assert [[one.label for one in added] for added in told] == [["a"]]
        await store.run(lambda store: store.specimens.one(1))
        assert len(told) == 1
        await store.aclose()

    asyncio.run(body())


def test_records_of_before_the_start_are_not_told(tmp_path):
    path, told = tmp_path / "a.sqlite3", []

    async def body():
        for label in ("a", "b"):
            store = await StoreThread.open(path, told.extend)
            await store.run(add(label))
            await store.aclose()

    asyncio.run(body())
    assert [one.label for one in told] == ["a", "b"]


def test_what_work_kept_before_it_failed_is_told_too(tmp_path):
    path, told = tmp_path / "a.sqlite3", []

    def fails(store):
        add("a")(store)
        raise ZeroDivisionError

    async def body():
        store = await StoreThread.open(path, told.extend)
        with pytest.raises(ZeroDivisionError):
            await store.run(fails)
        await store.aclose()

    asyncio.run(body())
    assert [one.label for one in told] == ["a"]
