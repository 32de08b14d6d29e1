"""The database's file is looked at again and again, but not without a pause."""

import asyncio

from ramphold.daemon import _file_watch
from ramphold.daemon._store_thread import StoreThread
from ramphold.store.file_damage import quick_look


class PolledPress:
    """A press without a run, which notes that it was asked for one often enough."""

    def __init__(self):
        self.polls, self.enough = 0, asyncio.Event()

    @property
    def unfinished(self):
        self.polls += 1
        if self.polls == 50:
            self.enough.set()


def test_a_file_that_can_not_be_looked_at_is_told_once_in_a_quarter_of_an_hour(
    tmp_path, monkeypatch, caplog
):
    # Fault: it was told twice a second.
    monkeypatch.setattr(_file_watch, "_POLL_S", 0)

    async def body():
        press, store = PolledPress(), await StoreThread.open(tmp_path / "bench.sqlite3")
        store.path.unlink()
        watch = _file_watch.FileWatch(press, store)
        task = asyncio.create_task(watch._watch(quick_look, quick=True))
        await press.enough.wait()
        task.cancel()
        await store.aclose()

    asyncio.run(body())
    assert caplog.text.count("the database's file can't be looked at") == 1
