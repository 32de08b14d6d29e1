"""Bytes of the database's file overwritten under the real daemon, in a run and between two."""

import asyncio
import itertools
import shutil
import time

import pytest

from ramphold.control import act, run_methods, server_methods, specimen_methods
from ramphold.core import Limits, RunState, WarningKind
from ramphold.errors import CommandRefused
from ramphold.store import Store
from ramphold.trust import TrustLevel

pytestmark = pytest.mark.slow

START = run_methods.StartRunParams(specimen=1, operator="ab", target_psi=4000)
END = run_methods.EndRunParams(reason="over", operator="ab")
NOTHING = act.NoParams()
PAGE = 4096


async def added(site, client):
    await client.call(
        specimen_methods.ADD_SPECIMEN,
        specimen_methods.AddSpecimenParams(label="s", target_psi=4000, operator="ab"),
    )
    await site.load_is(client, "open")


async def told(client, timeout_s=6.0):
    """The snapshot that first says that the database is damaged, and how long that took in s."""
    began_s = time.perf_counter()
    while time.perf_counter() - began_s < timeout_s:
        live = await client.call(run_methods.SNAPSHOT, NOTHING)
        if "is damaged" in live.unwritten:
            return live, time.perf_counter() - began_s
        await asyncio.sleep(0.05)
    raise AssertionError(live)


async def distrusted(client, words):
    """Wait until recording can't be trusted, in a sentence that has these words."""
    for _ in range(60):
        parts = (await client.call(server_methods.STATUS, NOTHING)).trust
        part = next(one for one in parts if one.name == "recording")
        if part.level is TrustLevel.BAD and words in part.text:
            return
        await asyncio.sleep(0.05)
    raise AssertionError(parts)


async def quiet(path):
    """Wait until the log is written into the file, which the daemon does without a run."""
    log = path.with_name(f"{path.name}-wal")
    for _ in range(200):
        if log.exists() and log.stat().st_size == 0:
            return
        await asyncio.sleep(0.05)
    raise AssertionError


def overwrite(path, old, new):
    """Overwrite bytes of a file where they stand last."""
    at = path.read_bytes().rindex(old)
    with path.open("r+b") as file:
        file.seek(at)
        file.write(new)


def overwrite_pages(path):
    """Overwrite all pages but the first."""
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(PAGE)
        file.write(b"\xa5" * (size - PAGE))


def taken_in(path, second):
    """The run that the second place had, in a copy from before it."""
    assert list(second.iterdir()) == []
    with Store.open(path) as store:
        kept, readings = store.runs.one(1), store.runs.readings(1)
        assert list(store.audit().findings()) == []
    gaps = [b.t_ns - a.t_ns for a, b in itertools.pairwise(readings)]
    # What a run may miss. It is 0.02 s here, and was 0.33 s once where the whole computer stood.
    assert max(gaps) < Limits().gap_s * 1e9
    return kept, len(readings)


def damaged_in_run(site, spoil):
    """A run whose database is spoiled; the run as a copy from before it has it in the end."""
    path, second = site.folder / "runs.sqlite3", site.folder / "second"
    second.mkdir()
    site.start(RUNTIME_DIRECTORY=str(second))

    async def run():
        async with site.connected() as client, site.sending(force_lbf=600):
            await added(site, client)
            await quiet(path)
            shutil.copy(path, site.folder / "copy")
            await client.call(run_methods.START_RUN, START)
            await asyncio.sleep(2.5)
            await spoil(client, path)
            with pytest.raises(CommandRefused, match="is not written yet"):
                await client.call(run_methods.END_RUN, END)

    asyncio.run(run())
    site.daemon.terminate()
    site.daemon.wait(5)
    assert len(list(second.glob("*.tail"))) == 1
    for one in (path, path.with_name("runs.sqlite3-wal"), path.with_name("runs.sqlite3-shm")):
        one.unlink(missing_ok=True)
    shutil.copy(site.folder / "copy", path)
    site.start(RUNTIME_DIRECTORY=str(second))

    async def start():
        async with site.connected():
            pass

    asyncio.run(start())
    site.daemon.terminate()
    site.daemon.wait(5)
    return taken_in(path, second)


def test_pages_overwritten_in_a_run_are_told_and_the_whole_run_is_kept(site):
    async def spoil(client, path):
        overwrite_pages(path)
        live, took_s = await told(client)
        assert took_s < 4  # a second between commits, and a look
        while WarningKind.NOT_RECORDED not in {one.kind for one in live.snapshot.warnings}:
            live, _ = await told(client)
        await distrusted(client, "what is read waits in ")
        await distrusted(client, "second/tail-")
        await client.call(run_methods.END_RUN, END)

    kept, readings = damaged_in_run(site, spoil)
    assert (kept.state, kept.reason) == (RunState.STOPPED, "ended: over (ab)")
    assert readings > 150


def test_a_run_whose_rows_read_back_otherwise_is_not_called_ended(site):
    async def spoil(client, path):
        overwrite(path.with_name(f"{path.name}-wal"), b'"reason":', b'"reasom":')
        ended = await client.call(run_methods.END_RUN, END)
        assert "run 1 reads back otherwise" in ended.unwritten or "can't be read" in ended.unwritten
        await told(client)

    kept, _ = damaged_in_run(site, spoil)
    assert kept.state is RunState.STOPPED


@pytest.mark.parametrize(
    "spoil", [overwrite_pages, lambda path: overwrite(path, b'"label":"s"', b'"label":"S"')]
)
def test_bytes_overwritten_between_runs_are_told_and_no_run_starts(site, spoil):
    path = site.folder / "runs.sqlite3"
    site.start()

    async def run():
        async with site.connected() as client, site.sending(force_lbf=600):
            await added(site, client)
            await client.call(run_methods.START_RUN, START)
            await asyncio.sleep(0.3)
            await client.call(run_methods.END_RUN, END)
            await quiet(path)
            spoil(path)
            live, _ = await told(client, 12)
            assert "is damaged" in live.unkept
            await distrusted(client, "nothing is written")
            with pytest.raises(CommandRefused, match="NOT STARTED: a run could not be kept now"):
                await client.call(run_methods.START_RUN, START)

    asyncio.run(run())
