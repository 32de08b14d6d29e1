"""A mass is captured from what the balance says, and a print repeated is no new weighing."""

import asyncio

import pytest

from ramphold.control.methods import CaptureMass, NewSpecimen
from ramphold.core import MassReading, MassState
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BalanceConfig
from ramphold.daemon.worksheet import Worksheet
from ramphold.errors import CommandRefused
from ramphold.sample import Weighing
from ramphold.testing import ManualClock

PRINTS = BalanceConfig(port="none", profile="state-comma", mode="print key")
STREAMS = BalanceConfig(port="none", profile="mark-while-moving", mode="continuous")


def at_bench(balance, test, tmp_path):
    """Run a test's coroutine with a worksheet over a real store, and a specimen in it."""

    async def body():
        store = await StoreThread.open(tmp_path / "runs.sqlite3")
        try:
            sheet = Worksheet(balance, store, ManualClock(), lambda *_: None)
            await sheet.add_specimen(NewSpecimen(label="s", target_psi=4000, operator="ab"))
            await test(sheet)
        finally:
            await store.aclose()

    asyncio.run(body())


def show(sheet, mass_g, state=MassState.STABLE):
    """Let the balance say something."""
    sheet.take_mass(MassReading(t_ns=0, mass_g=mass_g, state=state, line=b"line"))


def capture(sheet, what=Weighing.CHARGE):
    return sheet.capture(CaptureMass(specimen=1, what=what, operator="ab"))


def test_a_print_that_is_repeated_is_no_new_weighing(tmp_path):
    async def test(sheet):
        show(sheet, 39.525)
        await capture(sheet)
        show(sheet, 39.525)
        with pytest.raises(CommandRefused, match=r"39.525 g is kept already .*: print the empty"):
            await capture(sheet, Weighing.PAN_EMPTY)

    at_bench(PRINTS, test, tmp_path)


@pytest.mark.parametrize("between_g", [0.0, 112.436])
def test_the_same_mass_printed_after_another_is_a_new_weighing(tmp_path, between_g):
    async def test(sheet):
        show(sheet, 39.525)
        await capture(sheet)
        show(sheet, between_g)
        show(sheet, 39.525)
        assert (await capture(sheet, Weighing.PAN_EMPTY)).mass_g == 39.525

    at_bench(PRINTS, test, tmp_path)


def test_what_is_no_mass_does_not_make_the_same_print_new(tmp_path):
    async def test(sheet):
        show(sheet, 39.525)
        await capture(sheet)
        show(sheet, None, MassState.GARBLED)
        show(sheet, 39.525)
        with pytest.raises(CommandRefused, match="kept already"):
            await capture(sheet, Weighing.PAN_EMPTY)

    at_bench(PRINTS, test, tmp_path)


def test_a_balance_that_sends_by_itself_gives_its_newest_stable_mass(tmp_path):
    async def test(sheet):
        show(sheet, 39.525, MassState.MOVING)
        with pytest.raises(CommandRefused, match="is moving: wait until it is stable"):
            await capture(sheet)
        show(sheet, 39.525)
        assert (await capture(sheet)).mass_g == 39.525

    at_bench(STREAMS, test, tmp_path)
